"""A class on disk and in nbgrader: all that touches nbgrader's insides, see nbgrader_adapter."""

"""A class on disk and in nbgrader: all that touches nbgrader's insides is in its adapter."""

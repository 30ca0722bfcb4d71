"""A class on disk and in nbgrader: everything that touches nbgrader stands here."""

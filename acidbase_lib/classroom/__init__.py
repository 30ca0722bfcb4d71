"""Notebooks as files, many learners, nbgrader."""

"""Home: the units on a learner's disk, what is done and what is left, practice and progress."""

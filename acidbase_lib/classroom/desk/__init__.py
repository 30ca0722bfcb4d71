"""The instructor's desk: the commands of a course in one notebook, each behind a press."""

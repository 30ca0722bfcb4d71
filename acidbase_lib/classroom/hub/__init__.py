"""A school's hub: the files that it needs, what is missing on it, and a learner's sign-in."""

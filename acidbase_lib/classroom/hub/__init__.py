"""A school's hub: its files, what is missing on it, a learner's sign-in."""

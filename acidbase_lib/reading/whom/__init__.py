"""Whom a gas is of: which ranges fit, and who is not judged."""

"""Whom a gas is of and where it was taken: which ranges fit, and what the sample leaves open."""

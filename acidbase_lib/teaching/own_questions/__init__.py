"""A school's own questions become a unit."""

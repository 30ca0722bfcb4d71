"""A school's own folder."""

"""A blood gas becomes a reading."""

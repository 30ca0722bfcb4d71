"""A term in one view: all sittings of everybody on the class list."""

"""Pictures to look at, told in words."""

"""The commands about a school's own folder."""

"""One notebook becomes marks: read as data, or run behind a fence."""

"""Written answers that a person marks: a table to fill in, and a screen."""

"""A reading told in words: its steps in order, the printed report, a drafted call."""

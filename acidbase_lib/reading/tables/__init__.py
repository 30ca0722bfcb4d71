"""Many gases at once: the same reading over a whole table (numpy and pandas only here)."""

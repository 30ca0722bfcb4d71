"""A reading becomes an exercise."""

"""A question as data becomes an exercise with its key and its choices."""

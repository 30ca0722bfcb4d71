"""Commands about marks that were given: adjusted afterwards, and written answers marked by hand."""

"""The page with no server: the course as static files."""

"""Pages with no server: the course as static files, and light practice."""

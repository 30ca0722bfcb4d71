"""Questions that somebody wrote, read in: from plain text or from a spreadsheet."""

"""Invented people whose gas can exist: cases, histories, causes, signs and names."""

"""Notebooks as data: read, repaired, written, carried over; never run."""

"""Marking past one machine: on a cluster that is there, into a gradebook that several use."""

"""Answers in codes."""

"""Guesses, earlier questions, twins: what opens and ends a lesson, and worked steps."""

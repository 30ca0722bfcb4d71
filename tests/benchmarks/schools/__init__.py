"""Simulated schools: learners of independent makers, and what each method makes of them."""

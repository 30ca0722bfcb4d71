"""What a learner practiced, kept in one file of their own, and what of it is due."""

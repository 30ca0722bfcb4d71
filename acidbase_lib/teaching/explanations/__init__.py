"""A reading told to a learner: step by step, number by number, place by place."""

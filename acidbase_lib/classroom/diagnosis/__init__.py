"""Which wrong idea, if any, explains a learner's answers, and how each question served."""

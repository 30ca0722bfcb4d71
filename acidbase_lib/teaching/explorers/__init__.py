"""Pictures that a learner moves, each over a pure function and with its sentence."""

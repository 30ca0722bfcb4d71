"""Pictures that a learner moves: each over a pure function, with its sentence."""

"""Is there enough oxygen: saturation, PaO2, what it takes, the target, what carries it."""

"""Is there enough oxygen: saturation, PaO2, what it takes, the person's target, what carries it."""

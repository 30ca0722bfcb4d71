"""Practice without end: a fresh patient at every press, the reasons at once."""

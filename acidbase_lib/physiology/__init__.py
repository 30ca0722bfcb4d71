"""Plain floats in, floats or Expected out: one function per published rule."""

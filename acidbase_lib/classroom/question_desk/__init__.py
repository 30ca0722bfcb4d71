"""The question desk: questions of one's own written on a screen, and the school's ranges."""

"""The answer cell and its form: everything a notebook draws to be clicked."""

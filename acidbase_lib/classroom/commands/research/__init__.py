"""Commands for whoever studies a class."""

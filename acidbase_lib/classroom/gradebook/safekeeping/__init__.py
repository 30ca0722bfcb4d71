"""A term's marks kept safe: whole or not read, backed up, with a history; people erased."""

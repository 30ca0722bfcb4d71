"""The command line: one module a command, opened when it is named."""

"""The command line: each command parses, calls a desk and prints."""

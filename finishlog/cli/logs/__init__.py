"""Commands on a whole log: start, copy, check, in, out, the demo."""

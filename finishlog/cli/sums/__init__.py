"""Commands that only compute; they need no log."""

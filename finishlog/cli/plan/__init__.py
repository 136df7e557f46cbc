"""Commands that plan: a match, its sheets, a load too few."""

"""In and out: sheets written to the log, archives, copies."""

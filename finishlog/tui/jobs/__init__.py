"""Jobs: find, open and start one, move an entry to the right one."""

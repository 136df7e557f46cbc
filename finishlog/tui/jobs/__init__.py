"""Jobs: find one, its page, start one, move an entry to the right one."""

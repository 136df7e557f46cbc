"""A log on a server as a whole: brought up to date, its tables held against the mapped ones."""

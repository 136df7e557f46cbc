"""Records to rows: lookups, inserts and their consequences."""

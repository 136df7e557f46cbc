"""A log in a database on a PostgreSQL server."""

"""A module for each thing that can be done on a phone: its routes, what it asks of the desks, its template."""

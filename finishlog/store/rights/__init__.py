"""Roles of a server: what each may do there, and who has which."""

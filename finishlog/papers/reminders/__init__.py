"""Outgoing reminders: letters, e-mail drafts, the calendar."""

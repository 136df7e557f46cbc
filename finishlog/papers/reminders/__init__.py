"""Reminders out: letters, e-mail drafts, the calendar."""

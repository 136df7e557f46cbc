"""A damaged log read page by page, without SQLite."""

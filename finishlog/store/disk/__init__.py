"""What lies beside the database: files that appear whole or not at all, and the attachments of a log."""

"""Files beside the database: atomic file creation and a log's attachments."""

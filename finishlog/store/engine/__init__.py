"""All that only one database engine does: what the rest of the store asks of it is `protocol.Engine`."""

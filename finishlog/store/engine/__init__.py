"""Everything engine-specific; the rest of the store uses it through `protocol.Engine`."""

"""The shelf: stock, needs, costs."""

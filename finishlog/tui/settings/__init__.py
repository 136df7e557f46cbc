"""Settings of the shop and of this machine."""

"""What runs under every screen: its house, work in threads, the session, keys typed ahead, others' writes."""

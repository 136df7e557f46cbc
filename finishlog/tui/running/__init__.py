"""Under every screen: the house, worker threads, the session, type-ahead, others' writes."""

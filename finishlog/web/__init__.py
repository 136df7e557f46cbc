"""The log in a browser: the hand-sized page of a phone. Server-rendered; works without script."""

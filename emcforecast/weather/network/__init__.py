"""The network: the cached session, and places by name."""

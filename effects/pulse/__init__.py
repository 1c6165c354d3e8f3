"""Effects that come and go in place."""

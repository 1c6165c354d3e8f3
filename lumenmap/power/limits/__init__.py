"""What each supply, fuse and wire may carry, and the limiter that keeps a show within it."""

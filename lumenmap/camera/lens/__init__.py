"""A camera with a lens that distorts, and where it stood."""

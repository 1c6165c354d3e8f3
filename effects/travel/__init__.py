"""Effects that travel along the house or round it."""

"""Effects that travel along the house or around it."""

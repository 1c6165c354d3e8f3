"""Where to feed a line: plans calculated quickly, then verified by the network solver."""

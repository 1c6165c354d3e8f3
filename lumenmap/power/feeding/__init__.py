"""Where to feed a line: plans worked out and borne out by the network."""

"""Light to codes: quantise, channel order, and what the wire carries."""

"""Plans of how to feed a house: one file a kind, each solved as a network, side by side."""

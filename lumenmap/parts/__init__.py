"""Catalogue rows of things one buys: pixel kinds, wires, fuses. Each figure with its source."""

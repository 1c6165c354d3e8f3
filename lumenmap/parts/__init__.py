"""Data sheet rows of parts: pixel kinds, wires, fuses, rails. Each figure with its source."""

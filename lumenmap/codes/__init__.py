"""Codes: dither, channel order, flashes, and what the wire carries."""

"""Solids, and where lines pass through them."""

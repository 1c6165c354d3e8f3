"""Colour: CSS colours, transfer functions, OKLab, palettes. Knows nothing of houses or shows."""

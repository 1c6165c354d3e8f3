"""Stage 2: a House becomes a PixelMap: where each pixel is, in wiring order."""

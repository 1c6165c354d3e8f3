"""From `House` to `PixelMap`: where each pixel is, in wiring order."""

"""The scripts that draw a house in a browser: the playing page has them, and the desk."""

from __future__ import annotations

DRAWING = ("paint.js", "paint_shaders.js", "paint_gpu.js", "draw.js")

"""New palettes: from one colour and a harmony, or from a photograph."""

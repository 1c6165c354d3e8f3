"""Frames over a serial line: a framing of our own, and the port."""

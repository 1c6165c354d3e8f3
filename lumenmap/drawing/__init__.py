"""Drawings in millimetres, plots on them, and their writers: SVG, PDF, PNG."""

"""A canvas in millimetres, and its writers: SVG, PDF, PNG."""

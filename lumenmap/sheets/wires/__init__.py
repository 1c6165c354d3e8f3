"""Wires as sheets tell them: what joins a line and where, the data leads, diagram and labels."""

"""Masses by themselves: how their roofs are shaped, and what they fill."""

"""Whole jobs: what the command line and Python users call."""

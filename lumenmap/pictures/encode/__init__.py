"""Frames to picture files; nothing here knows of houses."""

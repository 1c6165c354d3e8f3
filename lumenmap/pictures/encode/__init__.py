"""Frames to picture files; nothing here knows about houses."""

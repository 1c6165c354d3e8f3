"""Beats and bars of a sound file, found once and kept as a text that audio editors read."""

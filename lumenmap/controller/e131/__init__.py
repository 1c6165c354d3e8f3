"""ANSI E1.31: packets, pacing and the sender (the only socket)."""

"""The commands about evenings: what plays when, and playing it."""

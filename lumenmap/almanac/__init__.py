"""Which show plays on which night, and when it starts and ends."""

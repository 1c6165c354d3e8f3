"""What supplies, fuses and wires allow, and the limiter that keeps every frame inside it."""

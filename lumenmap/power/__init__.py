"""Amps and volts by circuit laws; the limiter that keeps codes inside every budget."""

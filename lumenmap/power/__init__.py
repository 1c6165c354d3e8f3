"""Currents and voltages by circuit laws, and the limiter that keeps a show within its budgets."""

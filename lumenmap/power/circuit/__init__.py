"""The wiring as an electrical network: its currents and voltages."""

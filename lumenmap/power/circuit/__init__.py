"""The wiring as a network: its currents and voltages by circuit laws."""

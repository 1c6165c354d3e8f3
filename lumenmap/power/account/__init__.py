"""The account of an export: its currents recounted from the bytes."""

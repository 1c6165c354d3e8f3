"""Bytes for the controller: frame files, packets, flash images, the sender."""

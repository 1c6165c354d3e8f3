"""Bytes for the controller: frame files, flash images, E1.31 packets and their sender."""

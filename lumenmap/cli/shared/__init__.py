"""Shared by several commands: options, output, errors."""

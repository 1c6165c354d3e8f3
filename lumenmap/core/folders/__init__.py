"""Folders that lumenmap writes to: one writer at a time, sets that are whole, caches."""

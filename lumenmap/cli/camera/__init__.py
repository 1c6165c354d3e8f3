"""Commands for photographs and films of the house."""

"""Tables of palettes and what they are for, from common knowledge, no source; customs vary."""

"""Reading a film of the blinking house: clock, shake, spots of light, and their numbers."""

"""How every pixel says its own number by blinking."""

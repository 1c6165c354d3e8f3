"""The flash image: a show packed losslessly for a microcontroller; c/FORMAT.md says how."""

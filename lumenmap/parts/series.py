"""LEDs in series with a resistor: how pixels for 12 V and more are often built.

The resistor takes the volts that the chain leaves, so with it a channel dims as soon as the supply
sags, where a regulated build holds its current until the chain itself is short.
"""

from __future__ import annotations

#: A red LED at full current (V): 2.0-2.2 [P: WS2812B datasheet text].
RED_VOLTS = 2.0


def series_resistor(volts: float, leds: int, forward: float, milliamps: float) -> float:
    """Return the ohm that leave ``leds`` of ``forward`` V each their current at ``volts``.

    >>> round(series_resistor(12, 3, 2.0, 18.5))  # three red LEDs of a 12 V pixel
    324
    """
    return (volts - leds * forward) / (milliamps / 1000)


def share_left(volts: float, nominal: float, leds: int, forward: float) -> float:
    """Return the part of its current that such a channel keeps at ``volts`` of ``nominal``."""
    chain = leds * forward
    return min(1.0, max(0.0, (volts - chain) / (nominal - chain)))

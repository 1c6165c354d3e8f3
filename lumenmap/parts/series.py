"""LEDs in series with a resistor: how pixels for 12 V and more are often built.

The resistor drops the voltage that the chain leaves, so such a channel dims as soon as the supply
sags. A regulated one holds its current until the voltage is too low for the chain itself.
"""

from __future__ import annotations

#: A red LED at full current (V): 2.0-2.2 [P: WS2812B datasheet text].
RED_VOLTS = 2.0


def series_resistor(volts: float, leds: int, forward: float, milliamps: float) -> float:
    """Return the resistance (ohm) for ``leds`` of ``forward`` V in series at ``volts``.

    >>> round(series_resistor(12, 3, 2.0, 18.5))  # three red LEDs of a 12 V pixel
    324
    """
    return (volts - leds * forward) / (milliamps / 1000)


def current_fraction(volts: float, nominal: float, leds: int, forward: float) -> float:
    """Return the fraction of its current that such a channel keeps at ``volts`` of ``nominal``."""
    chain = leds * forward
    return min(1.0, max(0.0, (volts - chain) / (nominal - chain)))

"""Round numbers for axes and scales: 1, 2 or 5 times a power of ten apart."""

from __future__ import annotations

import math


def round_step(least: float) -> float:
    """Return the smallest of 1, 2 and 5 times a power of ten that is at least ``least``.

    >>> round_step(0.3), round_step(17)
    (0.5, 20.0)
    """
    power = 10.0 ** math.floor(math.log10(least))
    # 1e-9: a step that is round but for float rounding is taken as it is.
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= least * (1 - 1e-9)))


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return evenly spaced round numbers from ``low`` to ``high``, at most ``most`` (3 or more).

    >>> ticks(0, 11)
    [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    """
    if not high > low:
        return [low]
    step = round_step((high - low) / most)
    while len(found := _multiples(step, low, high)) > most:
        step = round_step(1.5 * step)
    return found


def _multiples(step: float, low: float, high: float) -> list[float]:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    # 12 digits: 3 times 0.1 is 0.3.
    return [float(f"{k * step:.12g}") for k in range(first, last + 1)]

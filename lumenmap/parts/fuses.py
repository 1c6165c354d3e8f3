"""Blade fuses, the 125 % rule, and the limits of some classes of circuit.

A fuse protects the wire behind it, not the pixels. Local code and licensed people decide.
"""

from __future__ import annotations

import math
from functools import lru_cache

#: Ratings (A) and colours of blade fuses, 32 V class (ISO 8820-3, from lists whose titles were not
#: kept, so as from memory [M]). The colour is a hint; the number stamped on the fuse counts.
BLADES: dict[float, str] = {
    1: "black",
    2: "grey",
    3: "violet",
    4: "pink",
    5: "tan",
    7.5: "brown",
    10: "red",
    15: "blue",
    20: "yellow",
    25: "clear",
    30: "green",
    35: "blue-green",
    40: "orange",
}

#: A load that burns for three hours or more counts 125 % [P: NEC23 210.20(A), 215.3; its use on
#: the low-voltage side is common practice, no source].
CONTINUOUS = 1.25

#: Blade fuses interrupt up to this voltage, d.c. [P2: title and data of ISO 8820-3 in two lists].
BLADE_VOLTS = 32.0

#: What a supply does when it is switched on: common practice, no source.
INRUSH = (
    "When switched on, a supply takes many times its current from the mains for a moment, and the "
    "charge of every pixel's capacitor from its output. Its data sheet gives the inrush: the "
    "switch, the timer and the breaker must bear it, above all with several supplies on one."
)

#: Part of its label that a supply gives for hours [C]; the same 80 % as `CONTINUOUS`.
OF_LABEL = 1 / CONTINUOUS

#: In-line holders are commonly made for no more than this (A) [C].
HOLDER = 30.0

#: How long a blade fuse may stand (s) from so many times its rating on: the upper ends of 0.75-600
#: s, 0.15-5 s and 0.08-0.5 s [P2: copies of a blade fuse's data sheet]. At less it may
#: never blow: 110 % for 100 hours or more [M].
LONGEST = ((3.5, 0.5), (2.0, 5.0), (1.35, 600.0))

#: Floating point must not refuse 80 % of a fuse that is exactly 80 %.
_SLACK = 1e-9


def continuous_load(fuse: float) -> float:
    """Return the continuous current (A) that a fuse may carry: 80 % of its rating.

    >>> continuous_load(7.5)
    6.0
    """
    return fuse / CONTINUOUS


@lru_cache(4096)  # a plan of feeds asks for the same few loads a million times
def fuse_for(amps: float) -> float | None:
    """Return the smallest blade fuse for a continuous ``amps``; None if none is large enough.

    >>> fuse_for(3.0)
    4
    """
    return next((a for a in BLADES if a >= CONTINUOUS * amps - _SLACK), None)


@lru_cache(1024)
def largest_fuse(ampacity: float) -> float | None:
    """Return the largest blade fuse that still protects a wire of ``ampacity`` A; None if none."""
    return max((a for a in BLADES if a <= ampacity + _SLACK), default=None)


def longest_stand(times: float) -> float:
    """Return how long (s) a fuse may carry so many times its rating before it blows.

    >>> longest_stand(2.5), longest_stand(1.2)
    (5.0, inf)
    """
    return next((seconds for least, seconds in LONGEST if times >= least - _SLACK), math.inf)


def class_2_amps(volts: float) -> float | None:
    """Return the current rating (A) allowed for a Class 2 d.c. source; None above 30 V.

    NEC Chapter 9 Table 11(B): 5 A up to 20 V, 100 VA above, to 30 V [M; the a.c. table P].
    """
    if not 0 < volts <= 30:
        return None
    return 5.0 if volts <= 20 else 100 / volts


#: Low-voltage lighting: each output of the supply to 25 A at most (NEC23 411 [P]).
LIGHTING_OUTPUT_AMPS = 25.0

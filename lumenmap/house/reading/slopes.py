"""`read_slope`: the slope of a roof, as carpenters write it."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.units import quantity


def read_slope(value: str | float | int, *, what: str = "slope") -> float:
    """Read a roof slope as rise over run.

    ``"8/12"`` (rise in 12 of run), ``"33.7 deg"``, or ``"66 %"``. A bare number is refused, since
    8 might mean 8/12, 8 degrees or 8.
    """
    if isinstance(value, str):
        text = value.strip()
        if m := re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:/|in|:)\s*(\d+(?:\.\d+)?)", text):
            rise, run = float(m.group(1)), float(m.group(2))
            if run > 0:
                return _steep(rise / run, text, what)
        elif text.endswith(("deg", "°", "degrees")):
            got = quantity(text, {"deg": Fraction(1)}, "deg", what=what, like='"33.7 deg"')
            if 0 <= got < 80:
                return math.tan(math.radians(float(got)))
        elif text.endswith("%"):
            got = quantity(text, {"%": Fraction(1, 100)}, "%", what=what, like='"66 %"')
            return _steep(float(got), text, what)
    else:
        text = str(value)
        if isinstance(value, (int, float)) and 0 < value <= 24:
            raise InputError(
                f'{what} is {text}; write "{text}/12" for a rise of {text} in 12, '
                f'or "{text} deg" for an angle'
            )
    raise InputError(f'{what} is "{text[:40]}"; expected a slope such as "8/12" or "33.7 deg"')


def _steep(value: float, text: str, what: str) -> float:
    if not 0 <= value <= 5:
        raise InputError(f'{what} is "{text}": expected 0 to 60/12')
    return value

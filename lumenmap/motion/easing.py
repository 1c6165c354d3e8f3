"""Easing functions with the names of W3C CSS Easing Functions Level 2."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache, partial
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown

F = NDArray[np.float64]
Easing = Callable[[F], F]

#: CSS Easing Functions Level 2, section 2.2: the four numbers of each name.
_BEZIERS = {
    "ease": (0.25, 0.1, 0.25, 1.0),
    "ease-in": (0.42, 0.0, 1.0, 1.0),
    "ease-out": (0.0, 0.0, 0.58, 1.0),
    "ease-in-out": (0.42, 0.0, 0.58, 1.0),
}
Position = Literal["jump-start", "jump-end", "jump-none", "jump-both", "start", "end"]
_POSITIONS: tuple[Position, ...] = get_args(Position)
_STEPS: dict[str, tuple[int, Position]] = {"step-start": (1, "start"), "step-end": (1, "end")}
NAMES = ("linear", *_BEZIERS, *_STEPS, "cubic-bezier(…)", "steps(…)", "linear(…)")
_CALL = re.compile(r"(cubic-bezier|steps|linear)\(([^()]*)\)")


@lru_cache(maxsize=64)
def easing(text: str) -> Easing:
    """Return the function that takes progress 0..1 to eased progress, any shape.

    Raises
    ------
    InputError
        Not an easing function of that specification.
    """
    word = text.strip().lower()
    if word == "linear":
        return linear
    if word in _BEZIERS:
        return partial(_bezier, *_BEZIERS[word])
    if word in _STEPS:
        return partial(_steps, *_STEPS[word])
    if m := _CALL.fullmatch(word):
        try:
            return _call(m.group(1), [p.strip() for p in m.group(2).split(",")])
        except ValueError:
            raise InputError(f'"{text[:60]}" isn\'t valid in CSS Easing Functions') from None
    raise InputError(unknown("easing", text, NAMES))


def linear(x: F) -> F:
    """Return progress as it is: the easing where none is given."""
    return np.asarray(x, np.float64)


def _pieces(places: list[float], values: list[float], x: F) -> F:
    return np.asarray(np.interp(x, places, values))


def _call(name: str, parts: list[str]) -> Easing:
    if name == "cubic-bezier":
        x1, y1, x2, y2 = (float(p) for p in parts)
        if not (0 <= x1 <= 1 and 0 <= x2 <= 1 and abs(y1) + abs(y2) < 1e6):
            raise ValueError("x outside 0..1")
        return partial(_bezier, x1, y1, x2, y2)
    if name == "steps":
        count, word = int(parts[0]), (parts[1:] or ["end"])[0]
        position = _POSITIONS[_POSITIONS.index(word)]  # a ValueError if it isn't one
        least = 2 if position == "jump-none" else 1
        if not least <= count <= 10_000 or len(parts) > 2:
            raise ValueError("steps")
        return partial(_steps, count, position)
    values, given = _points(parts)
    return partial(_pieces, _places(given), values)


def _points(parts: list[str]) -> tuple[list[float], list[float | None]]:
    """Return the values of ``linear()`` and the place of each, if it is given.

    A value with two places holds from one to the other; they may stand before it (section 2.1).
    """
    values: list[float] = []
    given: list[float | None] = []
    for part in parts:
        words = part.split()
        places = [float(word[:-1]) / 100 for word in words if word.endswith("%")]
        (value,) = (float(word) for word in words if not word.endswith("%"))
        between = words[0].endswith("%") and words[-1].endswith("%")
        if len(places) > 2 or between or not all(abs(v) < 1e6 for v in (value, *places)):
            raise ValueError(part)
        values += [value] * max(1, len(places))
        given += places or [None]
    if len(values) < 2:
        raise ValueError("linear")
    return values, given


def _places(given: list[float | None]) -> list[float]:
    """Return a place for each value: as given, else evenly between its neighbours."""
    given = list(given)
    given[0] = 0.0 if given[0] is None else given[0]
    given[-1] = 1.0 if given[-1] is None else given[-1]
    at = [i for i, g in enumerate(given) if g is not None]
    # A place before an earlier one counts as that one (section 2.3.1).
    known = np.maximum.accumulate([g for g in given if g is not None])
    return [float(v) for v in np.interp(range(len(given)), at, known)]


def _bezier(x1: float, y1: float, x2: float, y2: float, x: F) -> F:
    """Solve x(s) = x by halving, which x(s) being monotonic allows, and return y(s)."""
    x = np.clip(np.asarray(x, np.float64), 0, 1)
    low, high = np.zeros_like(x), np.ones_like(x)
    for _ in range(50):
        s = (low + high) / 2
        before = _along(x1, x2, s) < x
        low, high = np.where(before, s, low), np.where(before, high, s)
    return _along(y1, y2, (low + high) / 2)


def _along(a: float, b: float, s: F) -> F:
    return np.asarray(3 * a * s * (1 - s) ** 2 + 3 * b * s**2 * (1 - s) + s**3)


def _steps(count: int, position: Position, x: F) -> F:
    x = np.asarray(x, np.float64)
    step = np.floor(x * count) + (position in ("start", "jump-start", "jump-both"))
    jumps = count + {"jump-both": 1, "jump-none": -1}.get(position, 0)
    return np.asarray(np.clip(step, 0, jumps) / jumps)

"""Colours written as in W3C CSS Color Module Level 4, read to linear sRGB."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import oklab
from lumenmap.colour.names import NAMED
from lumenmap.colour.spaces import SPACES, from_xyz_d50
from lumenmap.colour.transfer import to_linear
from lumenmap.core.errors import InputError, near, unknown
from lumenmap.core.plain import shown

F = NDArray[np.float64]

#: CIE Lab is relative to D50 (CSS Color 4, sample code).
_D50 = (0.3457 / 0.3585, 1.0, (1.0 - 0.3457 - 0.3585) / 0.3585)
_HUE_UNITS = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_FUNCTION = re.compile(r"([a-z][a-z0-9-]*)\(([^()]*)\)")
_VALUE = re.compile(r"([+-]?(?:\d*\.)?\d+(?:e[+-]?\d{1,3})?)(%|deg|grad|rad|turn)?")
#: Larger numbers aren't colours.
_LARGEST = 1e6
_LIKE = 'a CSS colour such as "#0b5d2a", "gold" or "oklch(0.62 0.19 29)"'


def _number(text: str, full: float, zero_to_one: bool = False) -> float:
    """Read one component; ``full`` is what 100 % stands for."""
    if text == "none":
        return 0.0
    m = _VALUE.fullmatch(text)
    if not m or m.group(2) not in (None, "%"):
        raise ValueError(text)
    value = float(m.group(1))
    if abs(value) > _LARGEST:
        raise ValueError(text)
    if m.group(2):
        value *= full / 100
    return min(max(value, 0.0), 1.0) if zero_to_one else value


def _hue(text: str) -> float:
    if text == "none":
        return 0.0
    m = _VALUE.fullmatch(text)
    if not m or m.group(2) == "%":
        raise ValueError(text)
    return float(m.group(1)) * _HUE_UNITS[m.group(2) or ""] % 360


def _rgb(a: str, b: str, c: str) -> F:
    return to_linear(np.clip([_number(v, 255) for v in (a, b, c)], 0, 255) / 255)


def _from_hsl(h: float, s: float, light: float) -> F:
    k = (np.array([0.0, 8.0, 4.0]) + h / 30) % 12
    span = s * min(light, 1 - light)
    return light - span * np.clip(np.minimum(k - 3, 9 - k), -1, 1)


def _hsl(h: str, s: str, light: str) -> F:
    sat = max(_number(s, 100) / 100, 0.0)
    return to_linear(_from_hsl(_hue(h), sat, _number(light, 100) / 100))


def _hwb(h: str, w: str, b: str) -> F:
    hue, white, black = _hue(h), _number(w, 100) / 100, _number(b, 100) / 100
    if white + black >= 1:
        return to_linear(np.full(3, white / (white + black)))
    return to_linear(_from_hsl(hue, 1.0, 0.5) * (1 - white - black) + white)


def _from_cielab(lab: F) -> F:
    fy = (lab[0] + 16) / 116
    f = np.array([fy + lab[1] / 500, fy, fy - lab[2] / 200])
    cubed = f**3
    xyz = np.where(cubed > 216 / 24389, cubed, (116 * f - 16) * 27 / 24389)
    return from_xyz_d50(xyz * np.array(_D50))


def _lab(light: str, a: str, b: str) -> F:
    lightness = min(max(_number(light, 100), 0.0), 100.0)
    return _from_cielab(np.array([lightness, _number(a, 125), _number(b, 125)]))


def _lch(light: str, c: str, h: str) -> F:
    lightness = min(max(_number(light, 100), 0.0), 100.0)
    return _from_cielab(oklab.from_lch([lightness, max(_number(c, 150), 0.0), _hue(h)]))


def _oklab(light: str, a: str, b: str) -> F:
    return oklab.to_linear([_number(light, 1, True), _number(a, 0.4), _number(b, 0.4)])


def _oklch(light: str, c: str, h: str) -> F:
    return oklab.to_linear(
        oklab.from_lch([_number(light, 1, True), max(_number(c, 0.4), 0.0), _hue(h)])
    )


_FUNCTIONS: dict[str, Callable[[str, str, str], F]] = {
    "rgb": _rgb,
    "rgba": _rgb,
    "hsl": _hsl,
    "hsla": _hsl,
    "hwb": _hwb,
    "lab": _lab,
    "lch": _lch,
    "oklab": _oklab,
    "oklch": _oklch,
}
#: The functions that also have a form with commas, older than the others.
_WITH_COMMAS = ("rgb", "rgba", "hsl", "hsla")


def _hex(digits: str) -> F | None:
    if len(digits) not in (3, 4, 6, 8) or not re.fullmatch("[0-9a-f]+", digits):
        return None
    pairs = [d * 2 for d in digits] if len(digits) < 6 else re.findall("..", digits)
    if len(pairs) == 4 and pairs[3] != "ff":
        raise InputError("an LED can't be transparent; leave the alpha out or make it full")
    return to_linear(np.array([int(p, 16) for p in pairs[:3]]) / 255)


def _function(name: str, body: str) -> F | None:
    if "," in body:
        parts, alpha = _with_commas(name, body)
    else:
        values, slash, last = body.partition("/")
        parts, alpha = values.split(), last.strip()
        if bool(slash) != bool(alpha):
            return None
    if alpha and _number(alpha, 1) < 1:
        raise InputError("an LED can't be transparent; leave the alpha out or make it 1")
    if name == "color" and len(parts) == 4:
        if parts[0] not in SPACES:
            raise InputError(unknown("colour space", parts[0], SPACES))
        return SPACES[parts[0]](np.array([_number(v, 1) for v in parts[1:]]))
    if name in _FUNCTIONS and len(parts) == 3:
        return _FUNCTIONS[name](parts[0], parts[1], parts[2])
    return None


def _with_commas(name: str, body: str) -> tuple[list[str], str]:
    """Return the parts and the alpha of the older form: commas throughout, one kind of number."""
    parts = [part.strip() for part in body.split(",")]
    alpha = parts.pop() if len(parts) == 4 else ""
    percents = [part.endswith("%") for part in parts]
    uniform = percents[1:] == [True, True] if name.startswith("hsl") else len(set(percents)) == 1
    if name not in _WITH_COMMAS or not uniform or "none" in (*parts, alpha):
        raise ValueError(body)
    return parts, alpha


def colour(text: str) -> F:
    """Read a CSS colour.

    Parameters
    ----------
    text
        A named colour, ``#hex``, or ``rgb() hsl() hwb() lab() lch() oklab() oklch() color()``.

    Returns
    -------
    (3,) float64
        Linear sRGB; outside 0..1 where the colour lies outside that gamut.

    Raises
    ------
    InputError
        Not a colour, or one with transparency.
    """
    if not isinstance(text, str):
        raise InputError(f"is {shown(text)}; expected {_LIKE}")
    word = text.strip().lower()
    found: F | None = None
    if len(word) <= 100:
        try:
            if word.startswith("#"):
                found = _hex(word[1:])
            elif m := _FUNCTION.fullmatch(word):
                found = _function(m.group(1), m.group(2))
            elif word.isalpha():
                found = _named(word)
        except InputError:
            raise
        except ValueError:
            found = None
    if found is None or not np.isfinite(found).all() or np.abs(found).max() > 1e6:
        raise InputError(f'"{text[:60]}" isn\'t a colour; expected {_LIKE}')
    return found


def _named(word: str) -> F | None:
    if word in NAMED:
        return _hex(NAMED[word])
    if word == "transparent":
        raise InputError("an LED can't be transparent; write black for an LED that is off")
    hint = near(word, NAMED) or f"; expected {_LIKE}"
    raise InputError(f'no colour "{word[:40]}"{hint}')

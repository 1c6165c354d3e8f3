"""Checks of a palette: its current, colours that LEDs can't show, colours that look alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import oklab
from lumenmap.colour.palette import Palette
from lumenmap.colour.stops import Stop
from lumenmap.colour.vision import KINDS, seen_by

F = NDArray[np.float64]

#: OKLab distances: below the first, two colours look the same; above the second, nobody confuses
#: them. About 2 and 10 of a just noticeable difference (common practice, no source).
_SAME, _APART = 0.04, 0.11


@dataclass(frozen=True, slots=True)
class Checked:
    """The findings.

    Attributes
    ----------
    amps
        Current (A) per pixel at each stop.
    mean_amps
        Current (A) per pixel, averaged over the whole palette.
    not_shown
        Stop number to the reason why an LED can't show its colour.
    confused
        (kind of vision, stop, stop): different to most people, alike to these.
    alike
        (stop, stop) that look alike to everybody.
    """

    amps: list[float]
    mean_amps: float
    not_shown: dict[int, str] = field(default_factory=dict)
    confused: list[tuple[str, int, int]] = field(default_factory=list)
    alike: list[tuple[int, int]] = field(default_factory=list)


def check(palette: Palette, channel_ma: tuple[float, ...], idle_ma: float) -> Checked:
    """Check a palette for pixels that draw ``channel_ma`` at full and ``idle_ma`` when dark."""
    stops = palette.stops
    rgb = np.clip([s.rgb for s in stops], 0, 1)
    currents = np.array(channel_ma[:3])
    lab = oklab.from_linear(rgb)
    found = Checked(
        amps=[float(v) for v in ((rgb * currents).sum(-1) + idle_ma) / 1000],
        mean_amps=float((palette.table[:, :3].mean(0) * currents).sum() + idle_ma) / 1000,
        not_shown={i: why for i, s in enumerate(stops) if (why := why_not(s))},
    )
    seen = {kind: oklab.from_linear(seen_by(kind, rgb)) for kind in KINDS}
    for i, j in combinations(range(len(stops)), 2):
        apart = _distance(lab, i, j)
        if apart < _SAME:
            found.alike.append((i, j))
        elif apart > _APART:
            found.confused.extend(
                (kind, i, j) for kind in KINDS if _distance(seen[kind], i, j) < _SAME
            )
    return found


def _distance(lab: F, i: int, j: int) -> float:
    return float(np.sqrt(((lab[i] - lab[j]) ** 2).sum()))


def why_not(stop: Stop) -> str:
    """Return why an LED can't show a colour, or the empty string if it can.

    Brown and grey need brighter surroundings; against the night sky they are only dim.
    """
    light, chroma, hue = oklab.to_lch(oklab.from_linear(np.clip(stop.rgb, 0, 1)))
    if light < 0.2:
        return "black is a pixel switched off" if light < 0.03 else "so dark that it looks off"
    if chroma < 0.03 and light < 0.85:
        return "grey looks like dim white"
    if 25 < hue < 100 and light < 0.6 and chroma < 0.15:
        return "brown looks like dim orange"
    if min(stop.rgb) < -0.02 or max(stop.rgb) > 1.02:
        return "outside the sRGB gamut; the nearest colour inside is shown"
    return ""

"""Checks of a palette: its current, colours that LEDs can't show, colours that look alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.white import ALIKE, split_white
from lumenmap.colour import oklab
from lumenmap.colour.dies import Dies
from lumenmap.colour.difference import ciede2000, cielab
from lumenmap.colour.gamut import NOTICEABLE, brought_in, change
from lumenmap.colour.palette import Palette
from lumenmap.colour.stops import Stop
from lumenmap.colour.vision import KINDS, seen_by

F = NDArray[np.float64]

#: CIEDE2000 below which two lights apart from each other are taken for one, and below which they
#: are by anybody (common practice for colours that are to be told apart, no source).
CONFUSED, ALIKE_BELOW = 10.0, 5.0


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
        (kind of vision, stop, stop): at least `CONFUSED` apart to most people, less to these.
    alike
        (stop, stop) less than `ALIKE_BELOW` apart.
    """

    amps: list[float]
    mean_amps: float
    not_shown: dict[int, str] = field(default_factory=dict)
    confused: list[tuple[str, int, int]] = field(default_factory=list)
    alike: list[tuple[int, int]] = field(default_factory=list)


def check(
    palette: Palette, channel_ma: tuple[float, ...], idle_ma: float, dies: Dies | None = None
) -> Checked:
    """Check a palette for pixels that draw ``channel_ma`` at full and ``idle_ma`` when dark.

    With ``dies`` its colours are mixed for them, as a show does; without, each channel is itself.
    """
    stops = palette.stops
    rgb = np.array([s.rgb for s in stops])
    whole = palette if dies is None else palette.mixed(dies.even)
    light = np.array([whole.stop(i) for i in range(len(stops))])
    seen = cielab(brought_in(rgb))
    found = Checked(
        amps=[float(v) for v in _amps(light, channel_ma, idle_ma, dies)],
        mean_amps=float(_amps(whole.table[:, :3], channel_ma, idle_ma, dies).mean()),
        not_shown={i: why for i, s in enumerate(stops) if (why := why_not(s, dies))},
    )
    by_kind = {kind: cielab(seen_by(kind, brought_in(rgb))) for kind in KINDS}
    for i, j in combinations(range(len(stops)), 2):
        apart = ciede2000(seen[i], seen[j])
        if apart < ALIKE_BELOW:
            found.alike.append((i, j))
        elif apart >= CONFUSED:
            found.confused.extend(
                (kind, i, j)
                for kind, lab in by_kind.items()
                if ciede2000(lab[i], lab[j]) < CONFUSED
            )
    return found


def _amps(
    light: NDArray[np.float32], channel_ma: tuple[float, ...], idle_ma: float, dies: Dies | None
) -> F:
    """Return A (S,) of light (S, 3) in the channels of a matched show, or in plain ones."""
    if dies is not None:
        light = light * dies.balance.astype(np.float32)
    if len(channel_ma) == 4:
        white = None if dies is None else dies.white_die
        light = split_white(light[None], ALIKE if white is None else white)[0]
    drawn: F = (light.astype(np.float64) * np.array(channel_ma)).sum(-1) + idle_ma
    return drawn / 1000


def why_not(stop: Stop, dies: Dies | None = None) -> str:
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
    if dies is not None and change(stop.rgb, dies.even) > NOTICEABLE:
        return "beyond what these pixels can make; the nearest colour of its hue is shown"
    return ""

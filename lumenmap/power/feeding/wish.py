"""What light a plan is for: full white, a level, the shows' own peaks, or what there is."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.power.feeding.choose import make
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.judge import Judged, ShowCodes
from lumenmap.site import Site

#: Pixels whose current is looked at together if the strings' size isn't known: our choice.
_TOGETHER = 50
_LEVEL = re.compile(r"(\d{1,3}(?:\.\d+)?)\s*%")


def wished(text: str, ground: Ground, shows: Sequence[ShowCodes]) -> tuple[float, str]:
    """Return the level that ``--light`` names, 0..1 of full white everywhere, and words for it.

    Raises
    ------
    InputError
        Not such a light; no show, or no wiring that can be solved.
    """
    plain = text.strip().lower()
    if plain == "full":
        return 1.0, "full white everywhere"
    if plain == "shows":
        if not shows:
            raise InputError(
                'is "shows", but there is no show in the folder of the house; expected full, a '
                "level such as 60%, or wiring",
                key="--light",
            )
        level = peak(ground.site, shows)
        return level, f"the shows at their peaks, {100 * level:.0f} % white on some string"
    if plain == "wiring":
        found = make("as-is", ground)
        if not isinstance(found, Judged):
            raise InputError(
                f'is "wiring", but the wiring there is can\'t be used: {found.why}', key="--light"
            )
        return (
            found.reached,
            f"what this wiring can do, {100 * found.reached:.0f} % white everywhere",
        )
    m = _LEVEL.fullmatch(plain)
    if not m or not 1 <= float(m.group(1)) <= 100:
        raise InputError(
            f'is "{text[:40]}"; expected full, a level from 1% to 100% such as 60%, shows or '
            "wiring",
            key="--light",
        )
    return float(m.group(1)) / 100, f"{m.group(1)} % white everywhere"


def peak(site: Site, shows: Sequence[ShowCodes]) -> float:
    """Return the white (0..1) that takes as much as any string takes in any frame of the shows."""
    amps = np.array(site.house.kind.channel_ma, float)
    size = site.house.string.pixels or _TOGETHER
    starts = [k for s in site.pixels.lines for k in range(s.first, s.first + s.count, size)]
    counts = np.diff([*starts, len(site.pixels)])
    most = 0.0
    for show in shows:
        each = show.codes @ (amps / amps.sum() / 255)
        sums = np.add.reduceat(each, starts, axis=1) / counts
        most = max(most, float(sums.max(initial=0.0)))
    # Codes are whole: the next step up, and one that fits in a budget's rounding.
    return min(1.0, max(1, int(np.ceil(most * 255 + 1e-6))) / 255)

"""Whether effects depend on place and time alone: each is asked twice, and in pieces.

An effect that draws random numbers, counts its calls or remembers the last frame gives other bytes
each time, in each cut and on each machine, and what was checked isn't what is played.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.frames.evaluate import Light, evaluate
from lumenmap.frames.plan import part
from lumenmap.frames.planned import Plan, PlannedLayer

F = NDArray[np.float64]

#: Frames that are asked for.
_FRAMES = 6
_ADVICE = (
    "An effect may depend on place and time only; lumenmap.motion.chance has randomness that does"
)


def impure(plan: Plan) -> list[str]:
    """Return a sentence for each layer whose effect depends on how its light is asked for.

    Raises
    ------
    EffectError
        As `lumenmap.frames.evaluate.evaluate`.
    """
    found: dict[str, None] = {}
    for cue in plan.tiles[0].cues if plan.tiles else ():
        first = cue.cue.length / 3
        since = first + np.arange(_FRAMES, dtype=np.float64)[:, None] / plan.show.fps
        for planned in cue.layers:
            effect = planned.layer.effect
            if how := _differs(planned, since):
                where = f'{planned.layer.key}: effect "{effect.name}" ({effect.source})'
                found[f"{where} gives different light {how}. {_ADVICE}"] = None
    return list(found)


def _differs(planned: PlannedLayer, t: F) -> str:
    whole = evaluate(planned, t)[..., :3].copy()
    if not _same([evaluate(planned, t)], whole, 0):
        return "when asked twice"
    if not _same([evaluate(planned, t[:2]), evaluate(planned, t[2:])], whole, 0):
        return "when frames are asked for in two blocks"
    if not _same(_halves(planned, t), whole, 1):
        return "when the house is asked for in two halves"
    return ""


def _same(parts: Iterable[Light], whole: Light, axis: int) -> bool:
    return np.array_equal(np.concatenate(list(parts), axis)[..., :3], whole, equal_nan=True)


def _halves(planned: PlannedLayer, t: F) -> Iterator[Light]:
    count = len(planned.at.xyz)
    for rows in (slice(0, count // 2), slice(count // 2, count)):
        if rows.start < rows.stop:
            yield evaluate(replace(planned, at=part(planned.at, rows)), t)

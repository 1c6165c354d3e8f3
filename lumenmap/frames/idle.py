"""`idle`: layers that change nothing, found by rendering their cue without them.

Strategy: a few moments are looked at first, which most layers pass at once. Only where they show no
difference is every frame of the cue rendered both ways, so that what is said of a layer holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lumenmap.frames.evaluate import Light, evaluate
from lumenmap.frames.planned import Plan, PlannedCue
from lumenmap.frames.render import default_block, render_block
from lumenmap.show.model import Cue

#: Moments of a cue that are looked at first.
_MOMENTS = 12
#: A smaller difference in light changes no code of 8 bits.
_STEP = 0.5 / 255


def idle(plan: Plan) -> list[str]:
    """Return a sentence for each layer without which every frame looks the same.

    Raises
    ------
    EffectError
        As `lumenmap.frames.evaluate.evaluate`.
    """
    # Most layers show a difference at once, so few of a cue's moments are ever rendered.
    whole = lru_cache(maxsize=_MOMENTS)(lambda frame: render_block(plan, frame, frame + 1))
    found = []
    for number, cue in enumerate(plan.tiles[0].cues if plan.tiles else ()):
        frames = _frames(plan, cue.cue)
        few = frames[np.linspace(0, len(frames) - 1, _MOMENTS).astype(int)] if len(frames) else []
        for key in dict.fromkeys(planned.layer.key for planned in cue.layers):
            without = _without(plan, number, key)
            pairs = ((whole(f), render_block(without, f, f + 1)) for f in few)
            if not _differ(pairs) and not _differ(_all(plan, without, frames)):
                found.append(_sentence(plan, number, key, frames))
    return found


def _frames(plan: Plan, cue: Cue) -> NDArray[np.int64]:
    """Return the frames at which a cue is lit; a loop's crossing shows its beginning too."""
    show = plan.show
    numbers = np.arange(show.frames)
    t = numbers / show.fps
    lit = (t >= cue.start) & (t <= cue.start + cue.length)
    if show.cross > 0:
        lit |= t > show.seconds - show.cross
    return numbers[lit]


def _without(plan: Plan, number: int, key: str) -> Plan:
    """Return a plan in which one layer of a cue isn't shown; all others keep their patterns."""

    def changed(cue: PlannedCue) -> PlannedCue:
        layers = (
            replace(p, layer=replace(p.layer, opacity=0.0)) if p.layer.key == key else p
            for p in cue.layers
        )
        return replace(cue, layers=tuple(layers))

    tiles = (
        replace(t, cues=(*t.cues[:number], changed(t.cues[number]), *t.cues[number + 1 :]))
        for t in plan.tiles
    )
    return replace(plan, tiles=tuple(tiles))


def _all(plan: Plan, without: Plan, frames: NDArray[np.int64]) -> Iterator[tuple[Light, Light]]:
    """Yield every frame with and without the layer, in blocks."""
    breaks = np.flatnonzero(np.diff(frames) > 1) + 1
    for run in np.split(frames, breaks):
        for i in range(0, len(run), step := default_block(plan.pixels)):
            first, last = int(run[i]), int(run[min(i + step, len(run)) - 1]) + 1
            yield render_block(plan, first, last), render_block(without, first, last)


def _differ(pairs: Iterable[tuple[Light, Light]]) -> bool:
    return any(np.abs(np.clip(a, 0, 1) - np.clip(b, 0, 1)).max() >= _STEP for a, b in pairs)


def _sentence(plan: Plan, number: int, key: str, frames: NDArray[np.int64]) -> str:
    parts = [p for t in plan.tiles for p in t.cues[number].layers if p.layer.key == key]
    layer, begin = parts[0].layer, plan.tiles[0].cues[number].cue.start
    where = f'{key}, effect "{layer.effect.name}", changes nothing in the picture'
    if not len(frames):
        return f"{where}: its cue is over before its first frame"
    t = np.linspace(frames[0], frames[-1], 4 * _MOMENTS)[:, None] / plan.show.fps
    own = (evaluate(p, p.since(t, begin)) for p in parts)
    if all(np.abs(light[..., :3]).max(initial=0) < _STEP for light in own):
        return f"{where}: its own light is black"
    if not isinstance(layer.opacity, float) or layer.opacity < _STEP:
        return f"{where}: look at its opacity"
    return f'{where}: layers after it cover it, or its blend "{layer.blend}" leaves what is there'

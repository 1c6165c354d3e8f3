"""Blocks of light: each layer's effect evaluated, blended and faded, block by block.

Strategy: a block is small enough to stay in the processor's cache. Colours travel padded to four
float32, so that a palette look-up moves one 16-byte item and blending runs over whole cache lines;
the fourth is never read. Every frame depends only on its own time, so any block of any show can be
rendered alone, in any order, on any machine, to the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.frames.blend import blend, scale
from lumenmap.frames.broadcasting import quick_rows
from lumenmap.frames.evaluate import EffectError, Light, evaluate
from lumenmap.frames.fades import fades, full
from lumenmap.frames.plan import BLOCK, MIN_FRAMES
from lumenmap.frames.planned import Plan, PlannedCue, PlannedLayer, Tile
from lumenmap.motion.ramp import Ramp

F = NDArray[np.float64]


def _keep_memory() -> None:
    """Let the C library keep freed memory for the next block.

    glibc returns it to the system and gets it again, a page fault at a time, until one large piece
    has been freed; that took a third of the time. This piece is never touched.
    """
    np.empty(24 << 20, np.uint8)


_keep_memory()


def default_block(pixels: int) -> int:
    """Return how many frames of ``pixels`` are rendered at once."""
    return min(max(MIN_FRAMES, BLOCK // max(1, pixels)), 128)


def render(
    plan: Plan, start: int = 0, stop: int | None = None, *, block: int | None = None
) -> Iterator[Light]:
    """Render frames ``start`` to ``stop`` (all if None) in blocks.

    Yields
    ------
    (T, N, 3) float32
        Linear light, 0..1; T is ``block`` or less. The caller may change the array.
    """
    stop = plan.show.frames if stop is None else stop
    step = block or default_block(plan.pixels)
    for first in range(start, stop, step):
        yield render_block(plan, first, min(first + step, stop))


def render_block(plan: Plan, first: int, last: int) -> Light:
    """Render frames ``first`` to ``last`` (not included) as one (T, N, 3) array."""
    with quick_rows():
        return _block(plan, first, last)


def _block(plan: Plan, first: int, last: int) -> Light:
    t = np.arange(first, last, dtype=np.float64)[:, None] / plan.show.fps
    if len(plan.tiles) == 1:
        total = _tile(plan, plan.tiles[0], t)
    else:
        total = np.empty((len(t), plan.pixels, 4), np.float32)
        for tile in plan.tiles:
            total[:, tile.first : tile.first + tile.pixels] = _tile(plan, tile, t)
    if plan.balance is not None:
        # Whole rows at once: many times quicker than broadcasting over four numbers.
        row = np.tile(np.append(plan.balance, np.float32(0)), plan.pixels)
        flat = total.reshape(len(t), -1)
        flat *= row
    if len(plan.dark):
        total[:, plan.dark] = 0
    return total[..., :3]


def _tile(plan: Plan, tile: Tile, t: F) -> Light:
    """Compose one tile's cues: (T, n, 4)."""
    light = _cues(tile, t, t)
    show = plan.show
    crossing = t[:, 0] > show.seconds - show.cross if show.cross > 0 else np.zeros(len(t), bool)
    if crossing.any():
        # Effects have no first frame, so the time before the loop's beginning can be rendered too.
        before = t[crossing] - show.seconds
        part = (1 + before / show.cross).astype(np.float32)[:, :, None]
        light[crossing] += (_cues(tile, before, np.zeros_like(before)) - light[crossing]) * part
    if not _finite(light):
        raise _not_finite(tile, t)
    return light


def _cues(tile: Tile, t: F, cued: F) -> Light:
    """Add up the cues at the times ``t``, with the brightness they have at ``cued``."""
    total: Light | None = None
    for cue in tile.cues:
        gain = None if full(cue.cue, cued) else fades(cue.cue, cued)
        if gain is not None and not gain.any():
            continue
        light = _cue(cue, t, cued, tile.pixels)
        if gain is not None:
            light *= gain.astype(np.float32)[:, :, None]
        # Cues add, so that two fades that meet cross without a dip.
        if total is None:
            total = light
        else:
            total += light
    if total is None:
        total = np.zeros((len(t), tile.pixels, 4), np.float32)
    return total


def _cue(cue: PlannedCue, t: F, cued: F, pixels: int) -> Light:
    """Compose a cue's layers over black: (T, N, 4)."""
    under: Light | None = None
    begin = cue.cue.start
    for planned in cue.layers:
        layer, whole = planned.layer, planned.rows is None
        since = planned.since(t, begin)
        shown = opacity(planned, since)
        if shown is None:
            continue
        light = evaluate(planned, since)
        if layer.envelope is not None:
            scale(light, layer.envelope(planned.since(cued, begin)).astype(np.float32))
        if under is None:
            if whole and layer.blend in _OVER_BLACK:
                under = light if isinstance(shown, float) and shown == 1 else scale(light, shown)
                continue
            under = np.zeros((len(t), pixels, 4), np.float32)
        if whole:
            blend(under, light, layer.blend, shown)
        elif isinstance(planned.rows, slice):
            blend(under[:, planned.rows], light, layer.blend, shown)
        else:
            part = under[:, planned.rows]
            blend(part, light, layer.blend, shown)
            under[:, planned.rows] = part
    return np.zeros((len(t), pixels, 4), np.float32) if under is None else under


#: Blend modes that leave the source unchanged over black.
_OVER_BLACK = frozenset({"normal", "screen", "lighten", "plus-lighter", "difference", "exclusion"})


def opacity(planned: PlannedLayer, since: F) -> float | NDArray[np.float32] | None:
    """Return how much of a layer shows ``since`` (T, 1) s after its cue's start.

    Returns
    -------
    float, or (T, 1) or (T, n) float32, or None
        0..1, for all pixels alike or for each; None if it doesn't show at all.
    """
    layer = planned.layer
    shown: float | NDArray[np.float32] = (
        layer.opacity(since).astype(np.float32)
        if isinstance(layer.opacity, Ramp)
        else layer.opacity
    )
    if (passage := layer.passage) is not None and passage.times and passage.then == "dark":
        gone = (since - planned.late) * abs(layer.pace)
        during = (gone < passage.over * passage.times - 1e-9).astype(np.float32)
        if not during.any():
            return None
        shown = during * np.float32(shown) if isinstance(shown, float) else during * shown
    if planned.turns is not None:
        lit = planned.turns.lit(since)
        if not lit.any():
            return None
        shown = lit * np.float32(shown) if isinstance(shown, float) else lit * shown
    return shown


def _finite(light: NDArray[np.float32]) -> bool:
    """Return whether all of it is finite, by the sum of its squares, which is quick."""
    flat = light.reshape(-1)
    with np.errstate(over="ignore", invalid="ignore"):
        return bool(np.isfinite(np.dot(flat, flat)))


def _not_finite(tile: Tile, t: F) -> EffectError:
    """Return the error for the layer whose light isn't finite."""
    for cue in tile.cues:
        for planned in cue.layers:
            if not _finite(evaluate(planned, planned.since(t, cue.cue.start))):
                effect = planned.layer.effect
                return EffectError(
                    f'{planned.layer.key}: effect "{effect.name}" ({effect.source}) '
                    "returned light that isn't finite (NaN or infinite)"
                )
    return EffectError("the combined light of these layers isn't finite")

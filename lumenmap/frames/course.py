"""What a layer's effect is asked: its times, and each option's number or course over them.

Strategy: an effect that can take a ramp's course is asked once for a whole block. One that takes
plain numbers only is asked once for each run of frames in which they stay the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.palette import Palette
from lumenmap.frames.plan import PlannedLayer
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.varying import Course
from lumenmap.show.model import Layer

F = NDArray[np.float64]

#: Steps from a ramp's lowest value to its highest, for an effect that takes plain numbers only.
_FINE = 128
#: What an effect draws with if the whole layer has one colour, which is multiplied in afterwards.
_WHITE = Palette("white", ["white"])


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """One question to an effect.

    Attributes
    ----------
    t
        (T, 1) s of the layer's own time, read-only.
    tint
        (T, 1, 3) what the light is multiplied by, or None.
    """

    t: F
    palette: Palette
    options: dict[str, Any]
    tint: NDArray[np.float32] | None


def given(planned: PlannedLayer, since: F) -> list[Given]:
    """Return what is asked for the times ``since`` (T, 1) s after the layer's cue's start."""
    layer = planned.layer
    since = _own(planned, since)
    if layer.palette_at is None and not any(isinstance(v, Ramp) for v in planned.options.values()):
        return [Given(_time(planned, since), layer.palette, planned.options, None)]
    return list(_varying(planned, since))


def _own(planned: PlannedLayer, since: F) -> F:
    """Return the times at which the layer is seen: since its turn began, or held at its end."""
    layer = planned.layer
    if layer.clock == "turn" and planned.turns is not None:
        return planned.turns.begun(since)
    passage = layer.passage
    if passage is not None and passage.times and passage.then == "held":
        last = passage.over * passage.times / max(abs(layer.pace), 1e-9)
        return np.asarray(np.minimum(since, planned.late + last))
    return since


def _time(planned: PlannedLayer, since: F) -> F:
    pace, late = planned.layer.pace, planned.late
    # A view of their own: an effect that writes to the times would move those of other layers.
    t: F = (since - late) * pace if late or pace != 1 else since.view()
    t.setflags(write=False)
    return t


def _varying(planned: PlannedLayer, since: F) -> Iterator[Given]:
    layer, specs = planned.layer, planned.layer.effect.options
    ramps = {name: v for name, v in planned.options.items() if isinstance(v, Ramp)}
    # The value at each frame of what the effect takes as plain numbers only.
    single = {n: _stepped(r, since) for n, r in ramps.items() if not specs[n].varying}
    for first, last in pairwise(_cuts(list(single.values()), len(since))):
        rows = slice(first, last)
        numbers = {name: float(values[first]) for name, values in single.items()}
        courses = {
            name: Course(ramp, since[rows], layer.pace, planned.late)
            for name, ramp in ramps.items()
            if name not in single
        }
        options = planned.options | numbers | courses
        tint = _tint(layer, since[rows])
        palette = layer.palette if tint is None else _WHITE
        yield Given(_time(planned, since[rows]), palette, options, tint)


def _stepped(ramp: Ramp, since: F) -> F:
    """Return the values (T,) in steps too small to see, so that frames of a slow ramp share one."""
    step = (ramp.most - ramp.least) / _FINE
    values = ramp(since)[:, 0]
    return (
        np.asarray(ramp.least + np.round((values - ramp.least) / step) * step) if step else values
    )


def _tint(layer: Layer, since: F) -> NDArray[np.float32] | None:
    if (place := layer.palette_at) is None:
        return None
    places = place(since) if isinstance(place, Ramp) else np.full_like(since, place)
    return layer.palette(places)


def _cuts(values: list[F], count: int) -> list[int]:
    """Return where runs of equal values begin, and the end."""
    if not values:
        return [0, count]
    changed = np.any([np.diff(one) != 0 for one in values], axis=0)
    return [0, *(np.flatnonzero(changed) + 1).tolist(), count]

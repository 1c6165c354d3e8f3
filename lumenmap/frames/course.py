"""What a layer's effect is asked: its times, and each option's number or course over them.

Strategy: an effect that can take a ramp's course is asked once for a whole block. One that takes
plain numbers only is asked once for each run of frames in which they stay the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.palette import Palette
from lumenmap.frames.planned import PlannedLayer
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.varying import Course, alike
from lumenmap.show.model import Layer

F = NDArray[np.float64]

#: What an effect draws with if the whole layer has one colour, which is multiplied in afterwards.
_WHITE = Palette("white", ["#fff"])


class Given(NamedTuple):
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
    single = {n: r.stepped(since)[0] for n, r in ramps.items() if not specs[n].varying}
    for rows in alike(len(since), *single.values()):
        numbers = {name: float(values[rows.start, 0]) for name, values in single.items()}
        courses = {
            name: Course(ramp, since[rows], layer.pace, planned.late)
            for name, ramp in ramps.items()
            if name not in single
        }
        options = planned.options | numbers | courses
        tint = _tint(layer, since[rows])
        palette = layer.palette if tint is None else _WHITE
        yield Given(_time(planned, since[rows]), palette, options, tint)


def _tint(layer: Layer, since: F) -> NDArray[np.float32] | None:
    if (place := layer.palette_at) is None:
        return None
    places = place(since) if isinstance(place, Ramp) else np.full_like(since, place)
    return layer.palette(places)

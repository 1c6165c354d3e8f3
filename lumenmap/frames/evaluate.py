"""A layer's effect is asked for its light, and what it returns is looked at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.aside import prints_aside
from lumenmap.core.errors import LumenmapError
from lumenmap.core.plain import plain
from lumenmap.frames.course import Given, given
from lumenmap.frames.planned import PlannedLayer
from lumenmap.show.effects.errors import line_in

F = NDArray[np.float64]
Light = NDArray[np.float32]
#: What an effect says is cut to so many characters.
_LONGEST = 500


class EffectError(LumenmapError):
    """An effect raised an exception or returned something other than light; ``exit_code`` is 2."""


def evaluate(planned: PlannedLayer, since: F) -> Light:
    """Evaluate a layer's effect ``since`` (T, 1) s after its cue's start; (T, n, 4), a fresh array.

    Raises
    ------
    EffectError
        It raised an exception, or returned the wrong shape or something other than numbers.
    """
    pieces = [_asked(planned, one) for one in given(planned, since)]
    return pieces[0] if len(pieces) == 1 else np.concatenate(pieces)


def _asked(planned: PlannedLayer, asked: Given) -> Light:
    layer = planned.layer
    name = f'effect "{layer.effect.name}" ({layer.effect.source})'
    try:
        with prints_aside():
            light = layer.effect.function(planned.at, asked.t, asked.palette, **asked.options)
    except LumenmapError:
        raise
    except (Exception, SystemExit) as error:
        line = line_in(error, layer.effect.file)
        place = f" at {layer.effect.file.name} line {line}" if line else ""
        said = plain(f"{type(error).__name__}: {error}", _LONGEST)  # in anybody's words
        raise EffectError(f"{layer.key}: {name} raised {said}{place}") from error
    shape = (len(asked.t), len(planned.at.xyz), 3)
    if not isinstance(light, np.ndarray) or light.shape != shape:
        got = light.shape if isinstance(light, np.ndarray) else type(light).__name__
        raise EffectError(f"{layer.key}: {name} returned {got}; expected an array of shape {shape}")
    if light.dtype.kind not in "fiub":
        raise EffectError(
            f"{layer.key}: {name} returned {light.dtype}; expected an array of numbers"
        )
    padded = _padded(light)
    if asked.tint is not None:
        padded[..., :3] *= asked.tint
    return padded


def _padded(light: NDArray[np.generic]) -> Light:
    """Return light as (T, N, 4): its own array if a palette padded it, else a copy."""
    base = light.base
    if (
        isinstance(base, np.ndarray)
        and light.dtype == np.float32
        and base.nbytes == light.shape[0] * light.shape[1] * 16
        and base.flags.c_contiguous
        and base.flags.writeable
        and base.flags.owndata
        and base.__array_interface__["data"][0] == light.__array_interface__["data"][0]
    ):
        return base.view(np.float32).reshape(*light.shape[:2], 4)
    padded = np.zeros((*light.shape[:2], 4), np.float32)
    with np.errstate(over="ignore"):  # what is too large for float32 is found later, as not finite
        padded[..., :3] = light
    return padded

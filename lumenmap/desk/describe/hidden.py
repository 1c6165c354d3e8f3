"""Layers that nobody can see: none of their pixels is there, or a later layer covers them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.desk.wire import facts
from lumenmap.jobs.project import Project
from lumenmap.show.model import Cue, Layer

Mask = NDArray[np.bool_]


def pixels_of(project: Project) -> dict[str, Mask]:
    """Return which pixels (N,) each layer lights, by the layer's key."""
    plan = project.plan
    lit = project.site.pixels.lit
    found: dict[str, Mask] = {
        layer.key: np.zeros(plan.pixels, bool) for cue in project.show.cues for layer in cue.layers
    }
    for tile in plan.tiles:
        span = slice(tile.first, tile.first + tile.pixels)
        for cue in tile.cues:
            for planned in cue.layers:
                mask = found[planned.layer.key][span]
                mask[slice(None) if planned.rows is None else planned.rows] = True
    return {key: mask & lit for key, mask in found.items()}


def hidden_layers(project: Project) -> list[facts.Hidden]:
    """Return the layers that nobody can see, with the reason."""
    masks = pixels_of(project)
    found = []
    for i, cue in enumerate(project.show.cues):
        for j, layer in enumerate(cue.layers):
            if why := _why(cue, layer, j, masks):
                found.append(facts.Hidden(path=["cue", i, "layer", j], sentence=why))
    return found


def _why(cue: Cue, layer: Layer, j: int, masks: dict[str, Mask]) -> str:
    mask = masks[layer.key]
    if not mask.any():
        return f"No pixel is where {layer.effect.name} lies."
    if layer.opacity == 0:
        return f"The opacity of {layer.effect.name} is 0."
    if layer.envelope is not None and layer.envelope.most <= 0:
        return f"The envelope of {layer.effect.name} is 0 all the time."
    above = np.zeros_like(mask)
    for other in cue.layers[j + 1 :]:
        steady = other.envelope is None and other.passage is None and other.turns is None
        if other.blend == "normal" and other.opacity == 1 and steady:
            above |= masks[other.key]
    if not (mask & ~above).any():
        return (
            f"The layers above {layer.effect.name} cover it. Blend them by screen, or lay them "
            "elsewhere."
        )
    return ""

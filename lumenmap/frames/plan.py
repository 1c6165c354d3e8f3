"""A Show planned for a PixelMap: the pixels of each layer, worked out once before rendering."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.frames.matched import Matched
from lumenmap.frames.passages import timed
from lumenmap.frames.planned import Plan, PlannedCue, PlannedLayer, Rows, Tile
from lumenmap.frames.routes import followed
from lumenmap.frames.seeds import layer_seeds
from lumenmap.frames.turns import PlannedTurns, in_parts, rows_of
from lumenmap.motion.at import At
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.ways import measure
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.places import Places
from lumenmap.show.model import Cue, Layer, Show, Turns
from lumenmap.site import Site

Bool = NDArray[np.bool_]

#: Pixel-frames that are rendered at once: 128 frames of 1,000 pixels, 2 MB of padded colour.
#: Larger blocks don't fit the cache; in smaller ones the calls cost more than the work.
BLOCK = 128_000
#: The fewest frames in a block; a house of more than BLOCK / MIN_FRAMES pixels is cut into tiles.
MIN_FRAMES = 16
_NO_WHITE = (
    "these pixels can't make a screen's white by their dominant_nm, so that colours are the dies' "
    "own, as with match_screen = false"
)


class _Drafted(NamedTuple):
    """A layer with all that is the same in every tile; ``mask`` (N,) is what it lights."""

    cue: Cue
    layer: Layer
    mask: Bool
    options: dict[str, Any]
    late: float
    turns: PlannedTurns | None

    def on(self, places: At, span: slice) -> PlannedLayer | None:
        """Return the layer on a tile whose places are given; None if it lights none of them."""
        rows = _rows(self.mask[span])
        if isinstance(rows, np.ndarray) and not len(rows):
            return None
        turns = self.turns and self.turns.part(_among(self.mask, span))
        return PlannedLayer(self.layer, part(places, rows), rows, self.options, self.late, turns)


def plan(show: Show, site: Site) -> Plan:
    """Lay a show on a site.

    Raises
    ------
    InputError
        A layer names an edge, mass, group, box or corner that this house doesn't have.
    """
    pixelmap = site.pixels
    named = Places(pixelmap, site.house, show.groups, show.routes)
    walks, places = followed(show, named, _places(site))
    drafted: list[_Drafted] = []
    # From a palette's light to the dies' own.
    matched = Matched(site.dies) if show.match_screen and site.dies.make_white else None
    seeds, routes = iter(layer_seeds(show)), iter(walks)
    for cue in show.cues:
        for layer in cue.layers:
            if matched is not None:
                layer = matched.layer(layer)
            mask = _mask(layer, show, pixelmap, named)
            for walk in next(routes):
                mask &= walk.on
            seed = next(seeds)
            options = _options(layer, show, places, seed)
            late = layer.delay - (_shown(layer, cue) if layer.clock == "show" else 0.0)
            turns = _turns(layer, show, named, places, mask, seed)
            if layer.passage is not None:
                here = part(places, _rows(mask))
                options = _passing(layer, show, here, options, site.house.unit)
            drafted.append(_Drafted(cue, layer, mask, options, late, turns))
    tiles = tuple(_tile(drafted, places, span) for span in spans(len(pixelmap)))
    dark = np.flatnonzero(~pixelmap.lit)
    if matched is None:
        notes = (_NO_WHITE,) if show.match_screen else ()
        return Plan(show, len(pixelmap), tiles, dark, notes=notes)
    return Plan(show, len(pixelmap), tiles, dark, matched.balance, matched.notes)


def _tile(drafted: Sequence[_Drafted], places: At, span: slice) -> Tile:
    """Return a tile with the cues that light it, each with the layers that do."""
    count = span.stop - span.start
    here = places if count == len(places.xyz) else part(places, span)
    cues: dict[int, PlannedCue] = {}
    for draft in drafted:
        planned = draft.on(here, span)
        if planned is not None:
            known = cues.get(id(draft.cue), PlannedCue(draft.cue, ()))
            cues[id(draft.cue)] = replace(known, layers=(*known.layers, planned))
    return Tile(span.start, count, tuple(cues.values()))


def _shown(layer: Layer, cue: Cue) -> float:
    """Return the show's time at a cue's start, s; in found beats, since the first of them."""
    return cue.start if layer.beats is None else float(layer.beats.even(cue.start))


def _among(mask: Bool, span: slice) -> slice:
    """Return which of a layer's own pixels lie in a tile."""
    before, here = int(mask[: span.start].sum()), int(mask[span].sum())
    return slice(before, before + here)


def _turns(
    layer: Layer, show: Show, named: Places, places: At, mask: Bool, seed: int
) -> PlannedTurns | None:
    """Return a layer's turns with the pixels of each of its places."""
    if (turns := layer.turns) is None:
        return None
    try:
        found = _taking_turns(turns, layer, named, places, mask)
    except InputError as error:
        key = f"{layer.key}, turns {error.key}".rstrip()
        raise InputError(error.message, file=show.file, key=key) from None
    return PlannedTurns(turns, rows_of(found, mask), int(mask.sum()), seed)


def _taking_turns(
    turns: Turns, layer: Layer, named: Places, places: At, mask: Bool
) -> Sequence[Bool]:
    """Return which pixels (N,) belong to each of the places that take turns."""
    if turns.parts is None:
        return [named.mask([place]) for place in layer.on]
    if turns.parts == "edges":
        edge = named.edges
        return [edge == number for number in dict.fromkeys(edge[mask & (edge >= 0)].tolist())]
    way = measure(places, turns.way)
    return in_parts(way.metres / way.whole, turns.parts, turns.gap)


def _passing(
    layer: Layer, show: Show, places: At, options: dict[str, Any], unit: str
) -> dict[str, Any]:
    """Return a layer's options with the speed or period that its passage takes."""
    assert layer.passage is not None
    try:
        return options | timed(layer.effect, layer.passage.over, places, options, unit)
    except InputError as error:
        raise InputError(error.message, file=show.file, key=f"{layer.key}, over") from None


def spans(pixels: int) -> list[slice]:
    """Cut ``pixels`` into tiles of even size that fit a block of `MIN_FRAMES` frames."""
    count = max(1, -(-pixels * MIN_FRAMES // BLOCK))
    ends = [pixels * i // count for i in range(count + 1)]
    return [slice(a, b) for a, b in itertools.pairwise(ends)]


def _options(layer: Layer, show: Show, places: At, seed: int) -> dict[str, Any]:
    """Return the layer's options with its seed filled in and its corners checked."""
    options = dict(layer.options)
    if "seed" in layer.effect.options:
        options.setdefault("seed", seed)
    for name, spec in layer.effect.options.items():
        if isinstance(options[name], Ramp):
            continue
        try:
            spec.kind.check_on(options[name], places)
        except InputError as error:
            raise InputError(error.message, file=show.file, key=f"{layer.key}, {name}") from None
    return options


def _mask(layer: Layer, show: Show, pixelmap: PixelMap, named: Places) -> Bool:
    """Return which pixels (N,) the layer lights."""
    mask = np.ones(len(pixelmap), bool)
    for key, names in (("on", layer.on), ("except", layer.without)):
        try:
            found = named.mask(names)
        except InputError as error:
            own = error.key.startswith(("group.", "route "))
            where = error.key if own else f"{layer.key}, {key} {error.key}".rstrip()
            raise InputError(error.message, file=show.file, key=where) from None
        if names:
            mask = mask & (found if key == "on" else ~found)
    if layer.without and not mask.any():
        raise InputError("leaves no pixels", file=show.file, key=f"{layer.key}, except")
    for axis, low, high in layer.within:
        along = pixelmap.xyz[:, axis]
        mask = mask & (along >= low) & (along <= high)
    if layer.within and not mask.any():
        raise InputError("no pixels are in this box", file=show.file, key=f"{layer.key}, within")
    return mask


def _rows(mask: Bool) -> Rows:
    if mask.all():
        return None
    rows = np.flatnonzero(mask)
    if len(rows) and rows[-1] - rows[0] + 1 == len(rows):
        return slice(int(rows[0]), int(rows[-1]) + 1)  # a slice blends without a gather
    return rows


def _places(site: Site) -> At:
    pixelmap = site.pixels
    lengths = np.array([span.length for span in pixelmap.lines])
    return At(
        xyz=pixelmap.xyz,
        along_line=pixelmap.along_line,
        along_edge=pixelmap.along_edge,
        edge_length=pixelmap.edge_length,
        facing=pixelmap.facing,
        line_length=lengths[pixelmap.line],
        low=pixelmap.xyz.min(axis=0),
        high=pixelmap.xyz.max(axis=0),
        corners=site.house.corners,
    )


def part(at: At, rows: Rows) -> At:
    """Return some of the places."""
    if rows is None:
        return at
    return at.part(rows)

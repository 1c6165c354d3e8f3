"""Where the camera of a film stood, found though the house may be wired otherwise than mapped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.pose import FEWEST, NOISE, pose
from lumenmap.camera.evidence.seen import Seen, seen_by
from lumenmap.camera.faults.backwards import turned
from lumenmap.camera.faults.holes import Piece, line_pieces, snapped
from lumenmap.camera.faults.steps import Step, steps
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.pose import on_one_line
from lumenmap.camera.lens.refine import refine
from lumenmap.core.errors import InputError
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.site import Site

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: How many steps there may be.
MOST_STEPS = 3
#: Times that camera and holes are found from each other.
ROUNDS = 2


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """The camera of a film, the holes as it sees them, and the way of each line through them."""

    found: Found
    seen: Seen
    pieces: dict[str, list[Piece]]
    steps: tuple[Step, ...] = ()


def stand(site: Site, spots: Spots, size: tuple[int, int]) -> Standing:
    """Return the camera of a film, and which pixel sits in which hole.

    Raises
    ------
    InputError
        Too few spots, spots all on one line, or no camera that sees them so.
    """
    if len(spots) < FEWEST:
        raise InputError(
            f"only {len(spots)} pixels could be told apart; film from nearer, later, and held still"
        )
    lamps, facing = lamp_places(site)
    if on_one_line(lamps[spots.number]):
        raise InputError(
            "the pixels that it shows lie on one line, which looks the same from many places; film "
            "from where a gable or another edge shows too, or use lumenmap locate"
        )
    pixels = site.pixels
    search = Search(size, noise=NOISE)
    found = pose(site, spots, lamps, facing, search)
    for _ in range(ROUNDS):
        pieces = _followed(spots, found, lamps, pixels)
        holes = in_holes(pieces, len(pixels))
        found = _refined(spots, found, holes, lamps, search)
    found, made = _with_steps(spots, found, holes, site, search)
    return Standing(found, seen_by(found.shot, lamps, pixels), _stepped(pieces, made, pixels), made)


def _followed(spots: Spots, found: Found, lamps: F, pixels: PixelMap) -> dict[str, list[Piece]]:
    """Return each line's way through the holes, without shifts of a few holes."""
    seen = seen_by(found.shot, lamps, pixels)
    ways = {s.name: snapped(line_pieces(spots, seen, s), pixels) for s in pixels.lines}
    return {s.name: turned(ways[s.name], spots, seen, s, pixels) for s in pixels.lines}


def _stepped(
    pieces: dict[str, list[Piece]], made: tuple[Step, ...], pixels: PixelMap
) -> dict[str, list[Piece]]:
    """Return the pieces with their shifts of a few holes, where there are steps."""
    out = {}
    for name, own in pieces.items():
        here = [s for s in made if pixels.lines[int(pixels.line[s.first])].name == name]
        parts = own
        for step in sorted(here, key=lambda s: s.first):
            parts = [part for piece in parts for part in piece.moved(step.first, step.size)]
        out[name] = parts
    return out


def _refined(spots: Spots, found: Found, holes: Ints, lamps: F, search: Search) -> Found:
    """Return the camera from every pixel in the hole that it is believed to sit in."""
    own = holes[spots.number]
    good = own >= 0
    return refine(found.shot, lamps[own[good]], spots.place[good], search)


def _with_steps(
    spots: Spots, found: Found, holes: Ints, site: Site, search: Search
) -> tuple[Found, tuple[Step, ...]]:
    """Return the camera with pixels too many or too few where that fits better, and where."""
    lamps, _ = lamp_places(site)

    def tried(made: list[Step]) -> tuple[Found, list[Step]]:
        """Return the camera with these steps, and which others are clear then."""
        own = holes
        for step in made:
            own = _moved(own, step, site.pixels)
        camera = _refined(spots, found, own, lamps, search) if made else found
        seen = seen_by(camera.shot, lamps, site.pixels)
        return camera, steps(camera.shot, spots, seen, own, lamps, site.pixels)

    made: list[Step] = []
    camera, clear = tried(made)
    for _ in range(MOST_STEPS):
        if clear:
            made = _joined(made, clear[0])
            camera, clear = tried(made)
    # The first may have been the shadow of a later one: each is asked for again without it.
    for step in made[:-1]:
        rest = [s for s in made if s != step]
        without, clear = tried(rest)
        if not clear:
            made, camera = rest, without
    return camera, tuple(made)


def _joined(made: list[Step], step: Step) -> list[Step]:
    """Return the steps with one more; two in one place are one, or none."""
    same = [s for s in made if s.first == step.first]
    rest = [s for s in made if s.first != step.first]
    size = step.size + sum(s.size for s in same)
    return [*rest, step._replace(size=size)] if size else rest


def _moved(holes: Ints, step: Step, pixels: PixelMap) -> Ints:
    """Return the holes with all pixels of a line from a step on moved along their wire."""
    span = pixels.lines[int(pixels.line[step.first])]
    part = slice(step.first, span.first + span.count)
    way = np.sign(np.gradient(holes.astype(float))).astype(np.intp)
    out = holes.copy()
    out[part] += step.size * way[part]
    out[(out < 0) | (out >= len(pixels))] = -1
    return out


def in_holes(pieces: dict[str, list[Piece]], count: int) -> Ints:
    """Return (N,) the hole of each pixel, -1 for one beyond the last hole."""
    out = np.full(count, -1, np.intp)
    for own in pieces.values():
        for piece in own:
            n = np.arange(piece.first, piece.last + 1)
            hole = piece.hole + piece.step * (n - piece.first)
            out[n] = np.where((hole >= 0) & (hole < count), hole, -1)
    return out

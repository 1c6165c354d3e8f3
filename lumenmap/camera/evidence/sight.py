"""Which pixels a camera can see by the model of the house, and from where more could be seen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.lens.shot import Shot
from lumenmap.pictures.scene.hides import hides
from lumenmap.pictures.scene.lamp import beam
from lumenmap.pictures.scene.rails import lamp_places

if TYPE_CHECKING:
    from lumenmap.site import Site

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: The camera may stand so far from where it was found, and see past other edges of the house (m).
AROUND = 0.25
#: A pixel that shines less than this part of its light towards the camera isn't seen.
FAINT = 0.1
#: Holes nearer to each other in the film than this (pixels) run together, though only every eighth
#: pixel is lit at once: spots are the brightest within 4 pixels.
TOGETHER = 0.5
#: Other places are tried so far round the house (degrees), the nearest first; to go further, this
#: many times as many pixels must be in sight from there.
TURNS, MORE = (20, -20, 40, -40, 60, -60), 1.25
#: The sides of a house, and in which direction they lie.
SIDES = {
    "from the street": (0, -1),
    "from behind": (0, 1),
    "from its left side": (-1, 0),
    "from its right side": (1, 0),
}


class Place(NamedTuple):
    """A place to film from: so far to the right of where one of the cameras stood (m).

    ``seen`` pixels are in sight from there, of those that no film shows.
    """

    camera: int
    right: float
    seen: int


def can_see(site: Site, evidence: Evidence) -> B:
    """Return (N,) which holes the camera can see, by the model of the house."""
    shot = evidence.shot
    around = AROUND * np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]]) @ shot.turn[:2]
    at, (w, h) = evidence.seen.places, shot.size
    inside = (at[:, 0] > 12) & (at[:, 0] < w - 12) & (at[:, 1] > 12) & (at[:, 1] < h - 12)
    return np.asarray(_sees(site, shot.position + around, shot) & inside & evidence.seen.usable)


def hidden_from(site: Site, *positions: F) -> B:
    """Return (N,) which holes the house itself hides from any of the positions (3,)."""
    lamps, facing = lamp_places(site)
    return np.asarray(hides(site.house, np.stack(positions), lamps + 0.05 * facing, 0.12).any(0))


def _sees(site: Site, positions: F, shot: Shot) -> B:
    """Return (N,) which holes all of the positions (P, 3) see, and the shot's lens tells apart.

    They shine on the first.
    """
    lamps, facing = lamp_places(site)
    hidden = hidden_from(site, *positions)
    towards = positions[0] - lamps
    cosine = (towards * facing).sum(1) / np.linalg.norm(towards, axis=1)
    shining = beam(cosine.astype(np.float32)) > FAINT
    return np.asarray(~hidden & shining & _apart(site, positions[0], shot))


def _apart(site: Site, position: F, shot: Shot) -> B:
    """Return (N,) which holes are far enough from the next one in a picture from a position."""
    lamps, pixels = lamp_places(site)[0], site.pixels
    way = lamps - position
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    gap = shot.focal * np.linalg.norm(np.diff(way, axis=0), axis=1)
    gap[(np.diff(pixels.edge) != 0) | (np.diff(pixels.line) != 0)] = 0  # the last one of an edge
    # To either side: an end has one neighbour.
    return np.asarray(np.maximum(np.append(gap, 0), np.append(0, gap)) > TOGETHER)


def better_place(site: Site, shots: Sequence[Shot], unseen: Sequence[int]) -> Place:
    """Return where most of the pixels that weren't seen are in sight by the model.

    Where a camera stood, if not many more are from elsewhere.
    """
    lamps, _ = lamp_places(site)
    middle = lamps.mean(0)

    def seen_from(position: F, shot: Shot) -> int:
        return int(_sees(site, position[None], shot)[list(unseen)].sum())

    stood = [Place(k, 0.0, seen_from(shot.position, shot)) for k, shot in enumerate(shots)]
    best = max(stood, key=lambda place: place.seen)
    for turn in np.radians(TURNS):
        cos, sin = np.cos(turn), np.sin(turn)
        for k, shot in enumerate(shots):
            moved = middle[:2] + np.array([[cos, -sin], [sin, cos]]) @ (shot.position - middle)[:2]
            position = np.array([*moved, shot.position[2]])
            count = seen_from(position, shot)
            if count > MORE * best.seen:
                best = Place(k, float((position - shot.position) @ shot.turn[0]), count)
    return best


class Side(NamedTuple):
    """A side to film from, in words, and how many of the pixels in question are in sight there."""

    words: str
    seen: int


def best_side(site: Site, shot: Shot, unseen: Sequence[int]) -> Side:
    """Return the side from which most pixels are in sight, as far away as a camera stood."""
    lamps, _ = lamp_places(site)
    middle = lamps.mean(0)
    away = float(np.linalg.norm((shot.position - middle)[:2]))
    sides = []
    for words, way in SIDES.items():
        position = np.array([*(middle[:2] + away * np.array(way)), shot.position[2]])
        sides.append(Side(words, int(_sees(site, position[None], shot)[list(unseen)].sum())))
    return max(sides, key=lambda side: side.seen)

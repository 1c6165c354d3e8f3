"""`posed`: the camera of a marked photograph, and what is to be said of each mark."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.refine import refine
from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.marks.given import camera_of
from lumenmap.camera.marks.in_sight import points_in_sight, require_in_sight
from lumenmap.camera.marks.photo import Photo
from lumenmap.camera.marks.points import NamedPoint, named_points
from lumenmap.camera.marks.trace import Traced
from lumenmap.camera.marks.unsure import Unsure, leeway, unsure
from lumenmap.core.errors import InputError, each
from lumenmap.core.lengths import show_about
from lumenmap.house.model import House
from lumenmap.site import Site

F = NDArray[np.float64]

#: How exactly people mark a point, as a part of the photograph's longer side [C]: 2 px of 1,920.
CARE = 1 / 960
#: A mark that is off by so many times that fits no camera, however bad the others are.
CARELESS = 10.0
#: Marks that are off by so many times that on average were read off another picture.
_BADLY = 5.0
#: Marks in percent of the photograph are no larger; a house never fills so few pixels.
_PERCENT = 100.0
#: A mark that is wrong is called by the name of a point this many times nearer.
_NEARER = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A mark: its point, where it is on the photograph (pixels), how far off, whether it fits."""

    point: NamedPoint
    place: F
    offset: float
    right: bool
    instead: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Posed:
    """A photograph of a house with its camera and its marks.

    ``unlike`` is the focal length (mm) in the photograph's file, if the marks contradict it;
    ``open`` the point that they say least of, if that is too little.
    """

    site: Site
    path: Path
    photo: Photo
    shot: Shot
    marks: tuple[Mark, ...]
    traces: tuple[Traced, ...] = ()
    unlike: float | None = None
    open: Unsure | None = None

    @property
    def usual(self) -> float:
        """How far the marks that fit are off, on average (pixels)."""
        return float(np.sqrt(np.mean([m.offset**2 for m in self.marks if m.right])))

    @property
    def doubts(self) -> list[str]:
        """What is to be checked; empty if the marks fit, and tell enough."""
        found = [] if self._fits or self.unlike else [self._bad_fit]
        if self.unlike:
            found.append(
                f"the marks fit a lens of {self.shot.lens:.0f} mm, not the {self.unlike:.0f} mm of "
                f"the photograph's file; {self._read_off}, and that nothing was cut off it: a "
                "camera is best found from a whole photograph"
            )
        if self.open:
            point, off = self.open
            found.append(
                f'the marks leave open where "{point.name}" is, by about {off:.0f} px; mark it '
                "too, or a point near it"
            )
        return found

    @property
    def _fits(self) -> bool:
        wrong = sum(not m.right for m in self.marks)
        close = self.usual <= _BADLY * CARE * max(self.photo.size)
        return close and wrong < max(3, len(self.marks) / 3)

    @property
    def _read_off(self) -> str:
        w, h = self.photo.size
        return (
            f"check that they were read off {self.path.name} as it is, {w} × {h} pixels, and not "
            "off a smaller copy"
        )

    @property
    def _bad_fit(self) -> str:
        return f"the marks fit badly; {self._read_off}, and check the house's measures"

    def words(self) -> list[str]:
        """Return what was found, in sentences."""
        unit = self.site.house.unit
        x, y, z = map(float, self.shot.position)
        right = [m.offset for m in self.marks if m.right]
        where = "behind" if y > 0 else "in front of"
        side = f"{show_about(abs(x), unit)} to its {'right' if x >= 0 else 'left'}"
        lines = [
            f"The camera stood {show_about(abs(y), unit)} {where} the house's origin, {side}, "
            f"{show_about(z, unit)} high.",
            f"Its lens is {self.shot.lens:.0f} mm on full frame"
            + (f"; the file says {self.photo.lens:.0f} mm." if self.photo.lens else "."),
            f"{len(right)} of {len(self.marks)} marks fit, "
            f"{self.usual:.1f} px off on average, {max(right):.1f} at most.",
        ]
        if self.photo.doubt:
            lines.append(f"WARNING: {self.path.name} {self.photo.doubt}.")
        lines += [f"WARNING: {doubt}." for doubt in self.doubts]
        for mark in self.marks:
            if not mark.right:
                hint = f' It fits "{mark.instead}".' if mark.instead else ""
                lines.append(
                    f'WRONG: "{mark.point.name}" is {mark.offset:.0f} px from where the others put '
                    f"it.{hint} It isn't used: correct it or take it out."
                )
        return lines


def pose(
    site: Site,
    photo: Photo,
    points: tuple[NamedPoint, ...],
    places: F,
    *,
    lens: float | None = None,
    path: Path = Path("photo"),
) -> Posed:
    """Return the camera that sees points at places (K, 2) of a photograph (pixels).

    Raises
    ------
    InputError
        Too few marks, on one line, or no camera that sees most of them there: nothing of the house
        may be in front of them.
    """
    _within(photo, points, places)
    xyz = np.array([p.xyz for p in points]).reshape(-1, 3)
    noise = CARE * max(photo.size)
    try:
        found, search, unlike = camera_of(xyz, places, photo, noise, lens)
    except InputError as error:
        raise error.at(key="mark") from None
    fits = found.residuals < CARELESS * noise
    if fits.sum() < max(5, len(points) / 2):
        raise InputError(
            f"only {int(fits.sum())} of {len(points)} marks fit one camera; check that left "
            "and right are as seen from the street",
            key="mark",
        )
    found = _without_wrong(found, xyz, places, search)
    require_in_sight(site, found.shot, [p for p, ok in zip(points, found.right, strict=True) if ok])
    marks = tuple(
        Mark(p, at, float(size), bool(ok), "" if ok else _instead(site.house, found.shot, at, p))
        for p, at, size, ok in zip(points, places, found.residuals, found.right, strict=True)
    )
    posed = Posed(site, path, photo, found.shot, marks, unlike=unlike)
    marked = np.array([m.point.xyz for m in marks if m.right])
    usual = max(noise, posed.usual / math.sqrt(2))
    others = points_in_sight(site, found.shot)
    return replace(posed, open=unsure(found.shot, marked, usual, search.lens, others))


def _within(photo: Photo, points: tuple[NamedPoint, ...], places: F) -> None:
    w, h = photo.size

    def check(mark: tuple[NamedPoint, F]) -> None:
        point, (x, y) = mark
        if not (0 <= x <= w and 0 <= y <= h):
            turned = bool(0 <= y <= w and 0 <= x <= h)
            raise InputError(
                f"is {x:g} to the right and {y:g} down, outside the photograph, which is {w} × {h} "
                "pixels" + ("; expected how far right first, then how far down" * turned),
                key=f"mark.{point.name}",
            )

    each(check, zip(points, places, strict=True))
    if len(places) and places.max() <= _PERCENT:
        raise InputError(
            f"all marks lie in the upper left corner of the photograph, which is {w} × {h} pixels; "
            "expected pixels, not a percentage or a share",
            key="mark",
        )


def _without_wrong(found: Found, xyz: F, places: F, search: Search) -> Found:
    """Return the camera found without the wrong marks, judged on all of them.

    A wrong mark still pulls a little; and one mark may be made to fit by a camera that fits no
    other well. So each is left out in turn, and the others say whether it is right.
    """
    right = found.right.copy()
    for _ in range(len(xyz) // 3):
        worst, without = -1, found
        for i in np.flatnonzero(right):
            rest = right.copy()
            rest[i] = False
            if rest.sum() < 5:
                continue
            tried = refine(found.shot, xyz[rest], places[rest], search)
            at, _ = tried.shot.project(xyz[i : i + 1])
            own = float(np.linalg.norm(at[0] - places[i]))
            usual = max(search.noise, float(np.sqrt(np.mean(tried.residuals**2))) / 1.41)
            # The others may say little of where it is: then it is what tells.
            open_ = leeway(tried.shot, xyz[rest], usual, search.lens, xyz[i : i + 1])[0]
            if own > 8 * usual + 3 * open_ and (worst < 0 or tried.cost < without.cost):
                worst, without = int(i), tried
        if worst < 0:
            break
        right[worst] = False
        found = without
    if right.all():
        return found
    sharp = refine(found.shot, xyz[right], places[right], search)
    at, _ = sharp.shot.project(xyz)
    return Found(sharp.shot, places - at, right, sharp.cost)


def _instead(house: House, shot: Shot, place: F, point: NamedPoint) -> str:
    """Return the name of the point that a wrong mark fits, if one is far nearer."""
    others = list(named_points(house).values())
    at, depth = shot.project(np.array([p.xyz for p in others]))
    away = np.where(depth > 0, np.linalg.norm(at - place, axis=1), np.inf)
    own = away[[p.name for p in others].index(point.name)]
    best = int(np.argmin(away))
    return (
        others[best].name
        if away[best] * _NEARER < own and away[best] < 12 * CARE * max(shot.size)
        else ""
    )

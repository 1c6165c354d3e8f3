"""`scene`: the surfaces of a picture: the faces of the house, and its surroundings."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import cast

from lumenmap.house.hull.faces import hull
from lumenmap.house.model import Face, House
from lumenmap.pictures.scene.garden import garden
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.openings import opening
from lumenmap.pictures.scene.surface import Colour, Surface, SurfaceKind, flat
from lumenmap.pictures.scene.valleys import valleys
from lumenmap.solids.outside import joined

#: Linear reflectance of fresh snow, a little blue in the shade (from memory, about 0.8 to 0.9).
SNOW = (0.72, 0.75, 0.80)
_OPENINGS = ("window", "door")


def scene(house: House, look: Look) -> tuple[Surface, ...]:
    """Return the surfaces of the house and its garden; the ground is the last."""
    seen = {name: tuple(parts) for name, parts in groupby(hull(house), lambda face: face.name)}
    standing = [f for f in house.faces if f.name in seen]
    built = [_outward(f, seen[f.name]) for f in standing if f.kind not in _OPENINGS]
    for face in standing:
        if face.kind in _OPENINGS:
            built += opening(face, look)
    if not look.snow:
        built += valleys(house)
    shown = [s for s in built if s is not None]
    shown += garden(house, look)
    if look.snow:
        shown = [_snowed(s) for s in shown]
    return tuple(shown)


def _outward(face: Face, parts: tuple[Face, ...]) -> Surface | None:
    """Make a surface of what is seen of a face; roofs face up and soffits down."""
    made = flat(
        cast(SurfaceKind, face.kind), joined([p.corners for p in parts]), face.colour, face.name
    )
    up = {"roof": 1, "soffit": -1}.get(face.kind, 0)
    if made is not None and made.normal[2] * up < 0:
        made = replace(made, corners=made.corners[::-1], normal=-made.normal)
    return None if made is None else replace(made, whole=face.corners)


def _snowed(surface: Surface) -> Surface:
    """Put snow on level and sloping faces that face up."""
    if surface.kind in ("roof", "ground", "step") and surface.normal[2] > 0.2:
        return replace(surface, colour=SNOW, kind="snow")
    if surface.kind in ("tree", "shrub"):
        share = 0.16 if surface.kind == "tree" else 0.34
        return replace(surface, colour=_mixed(surface.colour, 1 - share, share))
    if surface.kind in ("path", "street"):
        return replace(surface, colour=_mixed(surface.colour, 0.5, 0.35))
    return surface


def _mixed(colour: Colour, own: float, snow: float) -> Colour:
    r, g, b = (own * c + snow * s for c, s in zip(colour, SNOW, strict=True))
    return r, g, b

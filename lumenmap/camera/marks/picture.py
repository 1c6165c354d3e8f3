"""Pictures of points: numbered on the model, to choose from; and marks on the photograph."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.marks.points import NamedPoint, good_order, named_points
from lumenmap.camera.marks.posed import Posed
from lumenmap.house.model import House
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.encode.stills import write_still
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.view import view_camera
from lumenmap.site import Site

F = NDArray[np.float64]

#: Size of the picture of the model in pixels; a photograph with marks is as wide at most.
WIDTH, HEIGHT = 1400, 788
#: The house by day, with nothing in front of it.
LOOK = Look(time="day", trees=False)
#: A point this far behind a surface is hidden (m): boards and frames stand out less.
BEHIND = 0.25
#: Labels nearer than this to one before are left out (pixels).
CROWDED = 15
INK, PAPER, RIGHT, WRONG, LINE = "#10151c", "#ffffff", "#19c37d", "#ff4d4d", "#ffd24a"
TRACED = "#38b6ff"


def visible_points(site: Site) -> tuple[list[NamedPoint], F]:
    """Return the points that can be seen from the street, the most useful first.

    Their places (K, 2) are those in a picture `WIDTH` wide.
    """
    camera = view_camera(site, "street", WIDTH, HEIGHT)
    points = list(named_points(site.house).values())
    places, depth = camera.project(np.array([p.xyz for p in points]))
    raster = rasterise(scene(site.house, LOOK), camera, 1)
    x, y = np.floor(places.T).astype(int)
    shown = (depth > 0) & (x >= 0) & (x < camera.width) & (y >= 0) & (y < camera.height)
    near = np.full(len(points), -np.inf)
    for dx, dy in ((0, 0), (2, 0), (-2, 0), (0, 2), (0, -2)):  # it is an edge: any side may show it
        column = np.clip(x + dx, 0, camera.width - 1)
        row = np.clip(y + dy, 0, camera.height - 1)
        near = np.maximum(near, raster.depth(row, column))
    kept = np.flatnonzero(shown & (near > depth - BEHIND))
    ordered = good_order([points[i] for i in kept], places[kept])
    at = {p.name: place for p, place in zip(points, places, strict=True)}
    return ordered, np.array([at[p.name] for p in ordered]).reshape(-1, 2)


def draw_points(path: Path, site: Site) -> list[NamedPoint]:
    """Write a picture of the house with its points numbered; return them in that order."""
    points, places = visible_points(site)
    preview = Preview(site, width=WIDTH, height=HEIGHT, view="street", look=LOOK)
    dark = np.zeros((len(site.pixels), 3), np.float32)
    image = Image.fromarray(preview.still(dark).copy())
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(size=13)
    drawn: list[F] = []
    kept = []
    for point, place in zip(points, places, strict=True):
        if any(float(np.linalg.norm(place - other)) < CROWDED for other in drawn):
            continue
        drawn.append(place)
        kept.append(point)
        _label(pen, place, str(len(kept)), font)
    write_still(path, np.asarray(image), title=f"Points of {site.house.name}")
    return kept


def _label(
    pen: ImageDraw.ImageDraw,
    place: F,
    text: str,
    font: ImageFont.ImageFont | ImageFont.FreeTypeFont,
) -> None:
    x, y = map(float, place)
    pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=WRONG, outline=PAPER)
    box = pen.textbbox((x + 5, y - 15), text, font=font)
    pen.rectangle((box[0] - 2, box[1] - 1, box[2] + 2, box[3] + 1), fill=PAPER)
    pen.text((x + 5, y - 15), text, INK, font=font)


def draw_marks(path: Path, posed: Posed) -> None:
    """Write the photograph with the house's lines as the camera sees them, and the marks."""
    w, h = posed.photo.size
    scale = min(1.0, WIDTH / w)
    image = Image.fromarray(posed.photo.codes).resize((round(w * scale), round(h * scale)))
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(size=14)
    for line in outlines(posed.site.house, posed.shot):
        pen.line([(float(x * scale), float(y * scale)) for x, y in line], fill=LINE, width=1)
    for traced in posed.traces:
        at, _ = posed.shot.project(traced.points)
        pen.line([(float(x * scale), float(y * scale)) for x, y in at], fill=TRACED, width=3)
    for mark in posed.marks:
        x, y = mark.place * scale
        at, _ = posed.shot.project(mark.point.xyz)
        ink = RIGHT if mark.right else WRONG
        pen.line([(x, y), (float(at[0] * scale), float(at[1] * scale))], fill=ink, width=2)
        pen.ellipse((x - 5, y - 5, x + 5, y + 5), outline=ink, width=2)
        text = f"{mark.point.name} {mark.offset:.1f}"
        long = pen.textlength(text, font=font)
        start = x + 8 if x + 8 + long <= image.width else x - 8 - long
        pen.text((start, y - 8), text, ink, font=font, stroke_width=2, stroke_fill=INK)
    write_still(path, np.asarray(image), title=f"Marks on {posed.path.name}")


def outlines(house: House, shot: Shot) -> list[F]:
    """Return the outlines of walls, roofs and openings in the photograph, (K, 2) pixels each."""
    out = []
    for face in house.faces:
        if face.kind not in ("wall", "roof", "window", "door"):
            continue
        ring = np.concatenate([face.corners, face.corners[:1]])
        steps = np.linspace(0, 1, 9)[:-1, None, None]
        fine = (ring[:-1] * (1 - steps) + ring[1:] * steps).transpose(1, 0, 2).reshape(-1, 3)
        at, depth = shot.project(np.concatenate([fine, fine[:1]]))
        if (depth > 0.3).all():
            out.append(at)
    return out

"""The map as a picture: plan and elevations with every pixel, its number, and the data's way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.units import show_length
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.walk import Walk
from lumenmap.power.wiring import place_on
from lumenmap.sheets.drawing import GREY, INK, Drawing
from lumenmap.sheets.views import VIEWS, View, outlines, visible

F = NDArray[np.float64]

#: Colours of the lines: dark enough for white paper, told apart by most eyes (after Okabe and Ito's
#: palette, from memory).
COLOURS = ("#c4161c", "#0072b2", "#007a53", "#a3508a", "#b35900", "#3f51b5", "#5d6d00", "#00737d")

#: A3, lying (ISO 216), mm; room at its rim and between views.
PAPER = (420.0, 297.0)
RIM, BETWEEN, HEAD = 12.0, 11.0, 16.0
#: Steps between numbered pixels, and how far apart on paper their numbers stand at least (mm).
STEPS, APART = (5, 10, 25, 50, 100, 250, 500), 8.0
#: An edge that is seen more end-on than this is left to another view.
END_ON = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """What is drawn: the house, its map and its lines as walked."""

    house: House
    pixels: PixelMap
    walks: list[Walk]


def elevations(scene: Scene) -> Drawing:
    """Return the map's picture on one page."""
    page = Drawing(*PAPER)
    key = _key_height(scene)
    panels = [p for view in VIEWS if (p := _panel(scene, view)) is not None]
    room = (PAPER[0] - 2 * RIM, PAPER[1] - 2 * RIM - HEAD - key)
    scale, spots = _pack([p.size for p in panels], room)
    page.words((RIM, RIM + 5), scene.house.name, 6, bold=True)
    lines = f"{len(scene.walks)} line" + ("s" if len(scene.walks) > 1 else "")
    page.words(
        (RIM, RIM + 11),
        f"{len(scene.pixels):,} pixels on {lines}; numbers count along each line from 1; arrows "
        f"show the way the data runs; scale about 1:{1000 / scale:.0f}",
        3,
        colour=GREY,
    )
    for panel, (x, y) in zip(panels, spots, strict=True):
        _draw(page, scene, panel, scale, (RIM + x, RIM + HEAD + y))
    _key(page, scene, PAPER[1] - RIM - key, scale)
    return page


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """One view: its lines, which pixels it shows, and the box (m) it fills."""

    view: View
    lines: list[F]
    shown: NDArray[np.bool_]
    low: F
    high: F

    @property
    def size(self) -> tuple[float, float]:
        """Width and height (m)."""
        w, h = self.high - self.low
        return float(w), float(h)


def _panel(scene: Scene, view: View) -> Panel | None:
    pixels = scene.pixels
    if view.name == "plan":
        shown = pixels.edge >= 0
    else:
        shown = (pixels.edge >= 0) & visible(pixels.xyz, view, scene.house.faces)
        for i in np.unique(pixels.edge[shown]):
            points = scene.house.edges[pixels.edge_names[i]].points
            flat = np.linalg.norm(np.diff(view.flat(points), axis=0), axis=1).sum()
            if flat < END_ON * np.linalg.norm(np.diff(points, axis=0), axis=1).sum():
                shown &= pixels.edge != i
        if not shown.any() and view.name != "front":
            return None
    lines = outlines(scene.house, view)
    places = np.concatenate([*lines, view.flat(pixels.xyz[shown])])
    return Panel(view, lines, shown, places.min(0), places.max(0))


def _pack(
    sizes: list[tuple[float, float]], room: tuple[float, float]
) -> tuple[float, list[tuple[float, float]]]:
    """Return the largest scale (mm a m) at which the views fit in rows, and their places (mm)."""
    scale = min(room[0] / sizes[0][0], room[1] / sizes[0][1])
    while True:
        spots: list[tuple[float, float]] = []
        x = y = row = 0.0
        for w, h in sizes:
            wide, high = w * scale + 2 * BETWEEN, h * scale + 2 * BETWEEN
            if x and x + wide > room[0]:
                x, y, row = 0.0, y + row, 0.0
            spots.append((x + BETWEEN, y + BETWEEN))
            fits = x + wide <= room[0] + 1e-9
            x, row = x + wide, max(row, high)
            if not fits:
                break
        if len(spots) == len(sizes) and fits and y + row <= room[1]:
            return scale, spots
        scale *= 0.97


def _draw(page: Drawing, scene: Scene, panel: Panel, scale: float, at: tuple[float, float]) -> None:
    """Draw a view with its upper left corner at ``at`` (mm)."""

    def put(flat: F) -> list[tuple[float, float]]:
        x = at[0] + (flat[..., 0] - panel.low[0]) * scale
        y = at[1] + (panel.high[1] - flat[..., 1]) * scale
        return list(zip(np.atleast_1d(x).tolist(), np.atleast_1d(y).tolist(), strict=True))

    page.words((at[0], at[1] - 5), panel.view.name.capitalize(), 4, bold=True)
    for line in panel.lines:
        page.line(put(line), "#9aa5b1", 0.18)
    if panel.view.name == "plan":
        foot = at[1] + (panel.high[1] - panel.low[1]) * scale
        page.words((at[0] + (panel.high[0] - panel.low[0]) * scale / 2, foot + 7), "street side",
                   2.8, "middle", GREY)  # fmt: skip
    middle = put((panel.low + panel.high) / 2)[0]
    for i, walk in enumerate(scene.walks):
        _line(page, scene, panel, walk, i, put, middle)


def _line(
    page: Drawing, scene: Scene, panel: Panel, walk: Walk, i: int, put: object, middle: object
) -> None:
    """Draw one line's pixels, numbers, arrows, jumpers, ends and feeds."""
    colour, span = COLOURS[i % len(COLOURS)], scene.pixels.lines[i]
    flat = panel.view.flat(scene.pixels.xyz[span.slice])
    spots = put(flat)  # type: ignore[operator]
    shown = panel.shown[span.slice]
    lit = scene.pixels.lit[span.slice]
    for leg in walk.legs:
        edge = walk.laid[leg.run.edge]
        ends = edge.at(np.array([leg.enter, leg.leave]))
        own = slice(leg.first, leg.first + leg.count)
        if leg.count and shown[own].any():
            for spot, seen, on in zip(spots[own], shown[own], lit[own], strict=True):
                if seen:
                    page.dot(spot, 0.42, colour if on else "", colour, 0 if on else 0.15)
            _arrow(page, spots[own], shown[own], colour)
            _numbers(page, spots[own], shown[own], leg.first, middle, colour)
        if panel.view.name == "plan" and leg is not walk.legs[0]:
            before = walk.legs[walk.legs.index(leg) - 1]
            left = walk.laid[before.run.edge].at(np.array(before.leave))
            _wire(page, put(panel.view.flat(np.stack([left, ends[0]]))), leg.jumper, colour,  # type: ignore[operator]
                  scene.house.unit)  # fmt: skip
    for where, text in ((0, "start"), (span.count - 1, "end")):
        if shown[where]:
            x, y = spots[where]
            page.dot((x, y), 1.5, "", colour, 0.4)
            page.words((x, y + 5.2), f"{span.name} {text}", 2.4, "middle", colour, bold=True,
                       halo=True)  # fmt: skip
    for number, feed in enumerate(scene.house.feeds, 1):
        if feed.line == span.name:
            place = place_on(feed.at, span, scene.house.unit, f"feed {feed.name}")
            nearest = int(np.abs(scene.pixels.along_line[span.slice] - place).argmin())
            if shown[nearest]:
                _feed(page, spots[nearest], f"F{number}", middle)


def _arrow(page: Drawing, spots: list[tuple[float, float]], shown: F, colour: str) -> None:
    """Point along the middle of the visible part of a run."""
    seen = np.flatnonzero(shown)
    if len(seen) < 2:
        return
    k = int(seen[len(seen) // 2])
    a, b = np.array(spots[max(k - 1, 0)]), np.array(spots[k])
    way = b - a
    size = float(np.linalg.norm(way))
    if size > 1e-6:
        tip = (a + b) / 2 + way / size * 1.6
        page.arrow((float(tip[0]), float(tip[1])), (way[0] / size, way[1] / size), 3.2, colour)


def _numbers(
    page: Drawing,
    spots: list[tuple[float, float]],
    shown: F,
    first: int,
    middle: object,
    colour: str,
) -> None:
    """Write numbers at a run's ends and at round ones between, away from the middle."""
    at = np.array(spots)
    run = at[-1] - at[0]
    size = float(np.linalg.norm(run))
    along = run / size if size > 1e-6 else np.array([1.0, 0.0])
    out = np.array([along[1], -along[0]])
    if out @ (at.mean(0) - np.array(middle)) < 0:
        out = -out
    step_mm = size / max(1, len(spots) - 1)
    step = next((s for s in STEPS if s * step_mm >= APART), STEPS[-1])
    wanted = {0, len(spots) - 1} | {k for k in range(len(spots)) if (first + k + 1) % step == 0}
    placed: list[NDArray[np.float64]] = []
    for k in sorted(wanted, key=lambda k: (k not in (0, len(spots) - 1), k)):
        spot = at[k] + 3.0 * out + np.array([0, 0.8])
        if not shown[k] or any(np.linalg.norm(spot - p) < 0.8 * APART for p in placed):
            continue
        placed.append(spot)
        page.line([tuple(at[k] + 0.5 * out), tuple(at[k] + 1.5 * out)], colour, 0.15)
        page.words((float(spot[0]), float(spot[1])), str(first + k + 1), 2.2, "middle", colour,
                   halo=True)  # fmt: skip


def _wire(
    page: Drawing, ends: list[tuple[float, float]], jumper: float, colour: str, unit: str
) -> None:
    """Draw wire without pixels between two runs."""
    (x, y), (u, v) = ends
    if abs(x - u) + abs(y - v) < 0.5 and not jumper:
        return
    page.line(ends, colour, 0.3, 1.0)
    if jumper:
        page.words(((x + u) / 2, (y + v) / 2 - 1), f"jumper {show_length(jumper, unit)}", 2.2,
                   "middle", colour, halo=True)  # fmt: skip


def _feed(page: Drawing, spot: tuple[float, float], text: str, middle: object) -> None:
    """Flag the place where a feed joins."""
    x, y = spot
    out = np.array(spot) - np.array(middle)
    out = out / (float(np.linalg.norm(out)) or 1.0)
    u, v = x + 8 * float(out[0]), y + 8 * float(out[1])
    page.line([(x, y), (u, v)], INK, 0.25)
    page.area([(u - 3.2, v - 2.2), (u + 3.2, v - 2.2), (u + 3.2, v + 2.2), (u - 3.2, v + 2.2)],
              "#ffe08a", INK, 0.2)  # fmt: skip
    page.words((u, v + 1), text, 2.8, "middle", bold=True)


def _key_height(scene: Scene) -> float:
    return 10 + 4.6 * max(len(scene.walks), len(scene.house.feeds))


def _key(page: Drawing, scene: Scene, y: float, scale: float) -> None:
    """Explain the lines and the feeds, and show the scale."""
    page.line([(RIM, y), (PAPER[0] - RIM, y)], GREY, 0.2)
    for i, span in enumerate(scene.pixels.lines):
        at, colour = y + 6 + 4.6 * i, COLOURS[i % len(COLOURS)]
        page.line([(RIM, at - 1), (RIM + 8, at - 1)], colour, 1.0)
        dark = int((~scene.pixels.lit[span.slice]).sum())
        page.words(
            (RIM + 11, at),
            f"{span.name}: {span.count:,} pixels"
            + (f" ({dark} dark, drawn as rings)" if dark else "")
            + f", order {span.order}, universe {span.universe} on, "
            f"{show_length(span.length, scene.house.unit)} of wire",
        )
    for i, feed in enumerate(scene.house.feeds):
        at = y + 6 + 4.6 * i
        fuse = f", fuse {feed.fuse:g} A" if feed.fuse is not None else ", no fuse"
        page.words((PAPER[0] / 2, at), f"F{i + 1}", bold=True)
        page.words(
            (PAPER[0] / 2 + 8, at),
            f"{feed.supply} to {feed.line}, {feed.at}: {feed.wire}, "
            f"{show_length(feed.length, scene.house.unit)}{fuse}",
        )
    feet = scene.house.unit in ("ft", "in")
    bar = 3.048 if feet else 3.0
    right = PAPER[0] - RIM
    page.line([(right - bar * scale, y + 6), (right, y + 6)], INK, 0.8)
    page.words((right, y + 11), "10 ft" if feet else "3 m", 3, "end")

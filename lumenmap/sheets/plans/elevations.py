"""The map as a picture: plan and elevations with every pixel, its number, and the data flow."""

from __future__ import annotations

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_length
from lumenmap.core.wording import some
from lumenmap.drawing.canvas import GREY, INK, Drawing, TextStyle
from lumenmap.sheets.plans.panel import F, Panel
from lumenmap.sheets.plans.pen import Pen
from lumenmap.sheets.plans.views import VIEWS, View, outlines, visible
from lumenmap.sheets.wires.leads import cuts, leads, show_fuse
from lumenmap.site import Site

#: Colours of the lines: dark enough for white paper, distinguishable for most people (after Okabe
#: and Ito's palette, from memory).
COLOURS = ("#c4161c", "#0072b2", "#007a53", "#a3508a", "#b35900", "#3f51b5", "#5d6d00", "#00737d")

#: A3 landscape (ISO 216), mm; margins of the page and of each view; height of the heading.
PAPER = (420.0, 297.0)
MARGIN, VIEW_MARGIN, HEAD = 12.0, 14.0, 14.0
#: An edge that a view shows shorter than this part of its length, or that faces away by more than
#: this cosine, is left to another view.
MIN_LENGTH, MIN_FACING = 0.3, 0.2
#: Room round the pixels (m) in a close-up, and how much larger it must show them.
CLOSE_UP_ROOM, CLOSE_UP_GAIN = 1.5, 1.2


def elevations(site: Site, paper: tuple[float, float] = PAPER) -> Drawing:
    """Return the picture of the map on one page of ``paper`` (mm)."""
    return _page(site, _panels(site), paper)


def one_by_one(site: Site, paper: tuple[float, float]) -> dict[str, Drawing]:
    """Return each view by its name on a page of its own, closer if that shows pixels larger."""
    return {p.view.name: _page(site, [closer(site, p)], paper) for p in _panels(site)}


def side_panels(site: Site) -> list[Panel]:
    """Return the elevations that `one_by_one` shows, and on them every edge with pixels.

    What no view shows, since another part of the house hides it from there or since it shines down,
    has to be hung all the same: it is on the side that it faces, or on which it is longest.
    """
    edge = site.pixels.edge
    sides = [view for view in VIEWS if view.name != "plan"]
    panels = {panel.view: panel for panel in _panels(site) if panel.view in sides}
    shown = {i for panel in panels.values() for i in edge[panel.shown].tolist()}
    for i in sorted(set(edge[edge >= 0].tolist()) - shown):
        name, mine = site.pixels.edge_names[i], edge == i
        view = max(sides, key=lambda v: (_shows_well(site, v, name), _length(site, v, name)))
        known = panels.get(view)
        lines = known.lines if known else outlines(site.house, view)
        panels[view] = _framed(site, view, lines, known.shown | mine if known else mine)
    return [panels[view] for view in sides if view in panels]


def hidden(site: Site, view: View, name: str) -> bool:
    """Return whether the house hides all pixels of an edge in a view."""
    pixels = site.pixels
    places = pixels.xyz[pixels.edge == pixels.edge_names.index(name)]
    return not visible(places, view, site.house.faces).any()


def closer(site: Site, panel: Panel) -> Panel:
    """Return a close-up of the pixels, if they are in a small part of the view."""
    if not panel.shown.any():
        return panel
    near = panel.near(panel.view.flat(site.pixels.xyz[panel.shown]), CLOSE_UP_ROOM)
    sizes = zip(panel.size, near.size, strict=True)
    gain = min((whole / part for whole, part in sizes if part > 0), default=1.0)
    return near if gain >= CLOSE_UP_GAIN else panel


def _page(site: Site, panels: list[Panel], paper: tuple[float, float]) -> Drawing:
    page = Drawing(*paper)
    key = 10 + 4.6 * max(len(site.line_layouts), len(_wires(site)))
    room = (paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN - HEAD - key)
    scale, positions = pack([p.size for p in panels], room)
    right = (
        max(x + p.size[0] * scale for p, (x, _) in zip(panels, positions, strict=True))
        + VIEW_MARGIN
    )
    foot = (
        max(y + p.size[1] * scale for p, (_, y) in zip(panels, positions, strict=True))
        + VIEW_MARGIN
    )
    left, top = MARGIN + (room[0] - right) / 2, MARGIN + HEAD + (room[1] - foot) / 2
    lines = some(len(site.line_layouts), "line")
    page.text((MARGIN, MARGIN + 5), site.house.name, TextStyle(6, bold=True))
    page.text(
        (MARGIN, MARGIN + 11),
        f"{len(site.pixels):,} pixels on {lines}; numbers count along each line from 1; arrows "
        f"show the direction of the data; scale about 1:{1000 / scale:.0f}",
        TextStyle(3, colour=GREY),
    )
    for panel, (x, y) in zip(panels, positions, strict=True):
        pen = Pen(page, site, panel, scale, (left + x, top + y))
        pen.house_lines()
        for i, layout in enumerate(site.line_layouts):
            pen.line(layout, i, COLOURS[i % len(COLOURS)])
        for i in range(len(site.line_layouts)):
            pen.tags(i, COLOURS[i % len(COLOURS)])
        pen.jumpers()
        pen.numbers()
    _key(page, site, paper[1] - MARGIN - key, scale)
    return page


def _panels(site: Site) -> list[Panel]:
    """Return front, plan, and each side with an edge that no earlier view shows well."""
    panels: list[Panel] = []
    shown: set[int] = set()
    for view in VIEWS:
        panel = _panel(site, view)
        if panel is None:
            continue
        edges = set(site.pixels.edge[panel.shown].tolist())
        if view.name in ("front", "plan") or edges - shown:
            panels.append(panel)
        if view.name != "plan":
            shown |= edges
    return panels


def _panel(site: Site, view: View) -> Panel | None:
    pixels = site.pixels
    shown = pixels.edge >= 0
    if view.name != "plan":
        for i in np.unique(pixels.edge[shown]):
            if not _shows_well(site, view, pixels.edge_names[i]):
                shown &= pixels.edge != i
        shown[shown] = visible(pixels.xyz[shown], view, site.house.faces)
        if not shown.any() and view.name != "front":
            return None
    lines = outlines(site.house, view)
    if not lines and not shown.any():
        return None
    return _framed(site, view, lines, shown)


def _framed(site: Site, view: View, lines: list[F], shown: NDArray[np.bool_]) -> Panel:
    """Return a view whose box holds its lines and pixels."""
    places = np.concatenate([*lines, view.flat(site.pixels.xyz[shown])])
    return Panel(view, lines, shown, places.min(0), places.max(0))


def _shows_well(site: Site, view: View, name: str) -> bool:
    """Return whether an edge faces the viewer or the sky, and is seen near its full length."""
    edge = site.house.edges[name]
    full = np.linalg.norm(np.diff(edge.points, axis=0), axis=1).sum()
    facing = edge.facings
    towards = bool(((facing @ view.viewer > MIN_FACING) | (facing[:, 2] > 0.9)).any())
    return bool(_length(site, view, name) >= MIN_LENGTH * full and towards)


def _length(site: Site, view: View, name: str) -> float:
    """Return how long an edge is in a view (m)."""
    flat = view.flat(site.house.edges[name].points)
    return float(np.linalg.norm(np.diff(flat, axis=0), axis=1).sum())


def pack(
    sizes: list[tuple[float, float]], room: tuple[float, float]
) -> tuple[float, list[tuple[float, float]]]:
    """Return the largest scale (mm for a m) at which views fit in rows, and their positions (mm).

    Every order of the views is tried; the first of equals is taken, so the front comes first.
    """
    best = (0.0, [(0.0, 0.0)] * len(sizes))
    for order in permutations(range(len(sizes))):
        low, high = best[0], 400.0
        while high - low > 0.05:
            scale = (low + high) / 2
            positions = _rows([sizes[i] for i in order], room, scale)
            if positions is None:
                high = scale
            else:
                low = scale
                if scale > best[0] * 1.02:
                    best = (scale, [positions[order.index(i)] for i in range(len(sizes))])
    return best


def _rows(
    sizes: list[tuple[float, float]], room: tuple[float, float], scale: float
) -> list[tuple[float, float]] | None:
    positions: list[tuple[float, float]] = []
    x = y = row = 0.0
    for w, h in sizes:
        wide, high = w * scale + 2 * VIEW_MARGIN, h * scale + 2 * VIEW_MARGIN
        if x and x + wide > room[0]:
            x, y, row = 0.0, y + row, 0.0
        if x + wide > room[0] or y + high > room[1]:
            return None
        positions.append((x + VIEW_MARGIN, y + VIEW_MARGIN))
        x, row = x + wide, max(row, high)
    return positions


def _wires(site: Site) -> list[tuple[str, str]]:
    """Return mark and text of each wire and cut for the key; taps and ties go with their own."""
    unit, found = site.house.unit, []
    for lead in leads(site):
        if lead.kind in ("tap", "tie"):
            continue
        text = lead.make(unit)
        if lead.kind == "bus":
            found.append((lead.mark, f"bus along {lead.line}: {text}"))
            continue
        where = f"along {lead.line}" if lead.kind == "trunk" else f"to {lead.line}"
        text = f"{lead.source} {where}: {text}; fuse {show_fuse(lead.fuse)}"
        found.append((lead.mark, text.replace("fuse no fuse", "no fuse")))
    return found + [(cut.mark, f"{cut.line}: {cut.order}") for cut in cuts(site)]


def _key(page: Drawing, site: Site, y: float, scale: float) -> None:
    """Draw the key: lines, feeds and a scale bar."""
    unit = site.house.unit
    page.line([(MARGIN, y), (page.width - MARGIN, y)], GREY, 0.2)
    for i, span in enumerate(site.pixels.lines):
        at, colour = y + 6 + 4.6 * i, COLOURS[i % len(COLOURS)]
        page.line([(MARGIN, at - 1), (MARGIN + 8, at - 1)], colour, 1.0)
        dark = int((~site.pixels.lit[span.slice]).sum())
        page.text(
            (MARGIN + 11, at),
            f"{span.name}: {some(span.count, 'pixel')}"
            + (f" ({dark} dark, drawn as rings)" if dark else "")
            + f", {span.order}, from universe {span.universe}, "
            f"{show_length(span.length, unit)} long",
            TextStyle(2.7),
        )
    for i, (mark, text) in enumerate(_wires(site)):
        at = y + 6 + 4.6 * i
        page.text((0.53 * page.width, at), mark, TextStyle(bold=True))
        page.text((0.53 * page.width + 11, at), text, TextStyle(2.7))
    feet = unit in ("ft", "in")
    bar, right = (3.048 if feet else 3.0) * scale, page.width - MARGIN
    page.line([(right - bar, MARGIN + 3), (right, MARGIN + 3)], INK, 0.8)
    page.text((right, MARGIN + 8), "10 ft" if feet else "3 m", TextStyle(3, "end"))

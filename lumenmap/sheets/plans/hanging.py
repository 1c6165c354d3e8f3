"""The hanging drawing of each side: rails by letter and number, clips, heights, wires that join.

One side fills a page, in type that is read at arm's length on a ladder.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lumenmap.core.lengths import show_length
from lumenmap.drawing.canvas import GREY, INK, Drawing, Point, TextStyle
from lumenmap.drawing.labels import Labels, around, box_of, fan, halves, rim
from lumenmap.sheets.plans.elevations import closer, hidden, side_panels
from lumenmap.sheets.plans.hanging_flag import LARGE, draw_flag
from lumenmap.sheets.plans.hanging_head import DATUM, draw_head
from lumenmap.sheets.plans.hanging_table import draw_table, edge_rows, slope
from lumenmap.sheets.plans.heights import draw_heights
from lumenmap.sheets.plans.joints import joints, own_first
from lumenmap.sheets.plans.panel import Panel
from lumenmap.sheets.plans.pen import Pen
from lumenmap.sheets.plans.points import off, part_way, strays, unit_vector
from lumenmap.sheets.rails.clips import clips
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.reach import Reach
from lumenmap.site import Site

#: Margins of the page: at its foot the document has lines of its own.
MARGIN, FOOT = 12.0, 16.0
#: Room for heights left of the view, and for labels round it (mm).
HEIGHTS, ROUND = 36.0, 12.0
#: Type of lengths and heights (mm).
SMALL = 4.0
#: More of an edge than this without rails is told beside its length.
PART = 0.1
#: How wide a rail is drawn (mm), not to scale; its colour; how far off labels are (mm).
RAIL, RAIL_FILL, RIM = 2.6, "#bcd9f2", 1.5
#: A name farther than this from its rail has a line to it (mm).
FAR = 9.0
#: An upright page must make a side so many times larger than a page on its side.
LARGER = 1.2


class Side(NamedTuple):
    """The hanging drawing of one side, and its name."""

    name: str
    drawing: Drawing


def hanging_drawings(
    site: Site, placed: list[PlacedRail], paper: tuple[float, float]
) -> list[Side]:
    """Return a drawing for each side on which rails hang; ``paper`` (width, height) in mm.

    A tall side is on an upright page if that makes it larger.
    """
    found = []
    for panel in side_panels(site):
        edges = {site.pixels.edge_names[e] for e in set(site.pixels.edge[panel.shown].tolist())}
        mine = [r for r in placed if r.edge in edges]
        if mine:
            near = closer(site, panel)
            flat, upright = (
                _Sheet(Drawing(*size), site, near, mine) for size in (paper, paper[::-1])
            )
            sheet = upright if upright.pen.scale > LARGER * flat.pen.scale else flat
            sheet.draw()
            found.append(Side(panel.view.name, sheet.page))
    return found


class _Sheet:
    """One page: a head, the view with its rails, and a table of its edges."""

    def __init__(self, page: Drawing, site: Site, panel: Panel, rails: list[PlacedRail]) -> None:
        self.page, self.site, self.panel, self.rails = page, site, panel, rails
        self.edges = list(dict.fromkeys(r.edge for r in rails))
        self.rows = edge_rows(site, rails, self.edges)
        self.behind = [i for i, n in enumerate(self.edges) if hidden(site, panel.view, n)]
        for i in self.behind:
            self.rows[i] = (f"{self.rows[i][0]} (behind)", *self.rows[i][1:])
        self.table = page.height - FOOT - min(7.0, 62 / (1 + len(self.rows))) * (1 + len(self.rows))
        name = panel.view.name
        self.head = draw_head(page, site, name, MARGIN, behind=bool(self.behind))
        room = (
            page.width - 2 * MARGIN - HEIGHTS - 2 * ROUND,
            self.table - 6 - self.head - 2 * ROUND,
        )
        wide, high = (max(v, 0.1) for v in panel.size)
        scale = min(room[0] / wide, room[1] / high)
        left = MARGIN + HEIGHTS + ROUND + (room[0] - wide * scale) / 2
        top = self.head + ROUND + (room[1] - high * scale) / 2
        self.left = left - ROUND
        self.pen = Pen(page, site, panel, scale, (left, top))
        self.layouts = site.line_layouts[0].edge_layouts
        self.reach = {n: Reach(self.layouts[n], site.house) for n in self.edges}
        self.ways = {r.number: self._way(r) for r in rails}

    def draw(self) -> None:
        width, height = self.page.width, self.page.height
        head, table = (0, 0, width, self.head), (0, self.table - 1, width, height)
        self.pen.labels.taken += [head, table, (width - 4, 0, width, height)]
        self.pen.house_lines(named=False)
        ends = [self.reach[n].heights for n in self.edges]
        draw_heights(self.pen, [v for z in ends for v in (z.min(), z.max())], self.left - 4, SMALL)
        for rail in self.rails:
            self._rail(rail)
        for rail in self.rails:
            self._name(rail)
        self._wires()
        self._lengths()
        size = self.page.width - 2 * MARGIN
        draw_table(self.page, self.rows, (MARGIN, self.table), (size, self.page.height - FOOT))

    def _points(self, rail: PlacedRail, places: list[float]) -> list[Point]:
        """Return points on paper at distances from a rail's datum (m)."""
        layout = self.layouts[rail.edge]
        along = float(rail.start) + np.array(places)
        return self.pen.put(self.panel.view.flat(layout.at(along)))

    def _way(self, rail: PlacedRail) -> list[Point]:
        """Return a rail's ends on paper, and its bends between them."""
        length, start = float(rail.pattern.length), float(rail.start)
        knots = [float(k) - start for k in self.layouts[rail.edge].knots]
        return self._points(rail, [0.0, *(k for k in knots if 1e-6 < k < length - 1e-6), length])

    def _rail(self, rail: PlacedRail) -> None:
        length, way = float(rail.pattern.length), self.ways[rail.number]
        self.page.line(way, INK, RAIL)
        self.page.line(way, RAIL_FILL, RAIL - 0.7)
        for point in self._points(
            rail, [float(c) for c in clips(rail.pattern, self.site.house.unit)]
        ):
            self.page.dot(point, 0.9)
        self._across(way[-1], way[-2], INK, 0.5)
        self._across(way[0], way[1], DATUM, 1.0)
        for x, y in (way[0], way[-1]):
            self.pen.labels.take((x - 2, y - 2.2, x + 2, y + 2.2))
        self.pen.reserve(
            self._points(rail, np.linspace(0, length, 2 + int(length / 0.05)).tolist()), RIM
        )

    def _across(self, at: Point, inner: Point, colour: str, width: float) -> None:
        """Draw the end of a rail, inside its length."""
        u, v = unit_vector(at, inner)
        x, y = at[0] + u * width / 2, at[1] + v * width / 2
        self.page.line([(x - 2.6 * v, y + 2.6 * u), (x + 2.6 * v, y - 2.6 * u)], colour, width)

    def _name(self, rail: PlacedRail) -> None:
        length = float(rail.pattern.length)
        a, at, b = self._points(rail, [0.0, length / 2, length])
        outward = self._beside(rail.edge, a, b, at)
        candidates = [off(at, outward, r) for r in (5.5, 6.5, 7.5)]
        candidates += around(at, outward, (5.5, 7.5, 10, 13, 17, 21, 26))
        rest = [way for number, way in self.ways.items() if number != rail.number]
        own = [p for p in candidates if not strays(p, self.ways[rail.number], rest)]
        near = [p for p in own if abs(p[0] - at[0]) + abs(p[1] - at[1]) <= FAR]
        text = f"{rail.kind}{rail.number}"
        point = self.pen.labels.place(f"{text} ", LARGE, near)
        if point is None:  # where rails crowd, a line says which of them is meant
            half = halves(f"{text} ", LARGE)
            own += fan(at, outward, (7.5, 10, 13, 17, 21, 26, 32))
            point = self.pen.labels.lead(at, half, own)
            self.page.line([at, rim(at, point, half)], GREY, 0.25)
        style = TextStyle(LARGE, "middle", bold=True, halo=True)
        self.page.text((point[0], point[1] + 0.36 * LARGE), text, style)

    def _beside(self, edge: str, a: Point, b: Point, at: Point) -> Point:
        """Return the direction across a line from a to b of an edge.

        It points away from the middle of the view; of an edge with corners, from its own. Over a
        slope it points up: the roof is below it.
        """
        u, v = unit_vector(a, b)
        flat = self.panel.view.flat(self.layouts[edge].edge.points)
        whole = np.stack([self.panel.low, self.panel.high])
        middle = self.pen.put((whole if len(flat) == 2 else flat).mean(0))[0]
        side = 1 if (at[0] - middle[0]) * -v + (at[1] - middle[1]) * u >= 0 else -1
        if len(flat) == 2 and 0.1 < abs(v) < 0.95:
            side = -1 if u > 0 else 1
        return -v * side, u * side

    def _wires(self) -> None:
        """Flag where pairs of wires join, and where the plus is cut."""
        pixels = self.site.pixels
        here = [
            (joint, self.pen.put(self.panel.view.flat(pixels.xyz[joint.pixel]))[0])
            for joint in joints(self.site)
            if pixels.edge_names[pixels.edge[joint.pixel]] in self.edges
        ]
        for joint, at in here:
            self._flag(at, joint.mark, joint.cut, [other for _, other in here])

    def _flag(self, at: Point, mark: str, cut: bool, others: list[Point]) -> None:
        middle = self.pen.put((self.panel.low + self.panel.high) / 2)[0]
        candidates = fan(at, unit_vector(middle, at), (9, 12, 15, 19, 23, 28, 34))
        draw_flag(self.page, self.pen.labels, at, mark, own_first(candidates, at, others), cut=cut)

    def _lit(self, name: str) -> tuple[float, float]:
        """Return where the rails of an edge begin and end along it (m)."""
        mine = [r for r in self.rails if r.edge == name]
        return float(mine[0].start), float(mine[-1].start + mine[-1].pattern.length)

    def _line(self, name: str) -> tuple[Point, Point]:
        """Return where the rails of a straight edge begin and end on the page."""
        ends = self.layouts[name].at(np.array(self._lit(name)))
        a, b = self.pen.put(self.panel.view.flat(ends))
        return a, b

    def _lengths(self) -> None:
        """Write each edge's length, and its slope, on its inner side where there is room."""
        others = Labels()  # lengths of two rakes next to each other aren't to be read as one
        # Round a window or a corner only the table has room.
        straight = [n for n in self.edges if len(self.layouts[n].edge.points) == 2]
        lines = {name: self._line(name) for name in straight}
        unit = self.site.house.unit
        for name, (a, b) in lines.items():
            whole = self.reach[name].high - self.reach[name].low
            start, stop = self._lit(name)
            lit = stop - start
            at = part_way(a, b, 0.5)
            out = self._beside(name, a, b, at)
            text = show_length(whole, unit)
            if whole - lit > PART * whole:
                text = f"{show_length(lit, unit)} of {text}"
            if steep := slope(self.site.house.edges[name], unit):
                text += f", {steep}"
            inward = (-out[0], -out[1])
            places = [(r, p) for p in (0.5, 0.35, 0.65, 0.2, 0.8) for r in (6, 7, 8, 10, 13, 16)]
            places.sort(key=lambda place: place[0] + 30 * abs(place[1] - 0.5))
            spots = [off(part_way(a, b, part), inward, r) for r, part in places]
            rest = [line for other, line in lines.items() if other != name]
            spots += around(at, inward, (6, 8, 10, 13, 16))
            spots = [
                spot
                for spot in spots
                if others.free(box_of(f" {text} ", SMALL, spot)) and not strays(spot, (a, b), rest)
            ]
            if point := self.pen.labels.place(text, SMALL, spots):
                others.take(box_of(f" {text} ", SMALL, point))
                style = TextStyle(SMALL, "middle", "#0059a3", halo=True)
                self.page.text((point[0], point[1] + 0.36 * SMALL), text, style)

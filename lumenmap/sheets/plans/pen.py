"""`Pen`: draws one view of the map on the page: outlines, then pixels, numbers, wires, feeds."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_written
from lumenmap.drawing.canvas import GREY, INK, Drawing, Point, TextStyle
from lumenmap.drawing.labels import Labels, around, fan, halves, leader, rim, width_of
from lumenmap.drawing.ticks import round_step
from lumenmap.pixels.line_layout import LineLayout, RunLayout
from lumenmap.sheets.plans.joints import joints, own_first
from lumenmap.sheets.plans.panel import Panel
from lumenmap.sheets.wires.leads import cuts
from lumenmap.sheets.wires.symbols import PLUS
from lumenmap.site import Site

F = NDArray[np.float64]

#: The least distance between numbered pixels, and between their numbers on paper (mm).
MIN_STEP, MIN_DISTANCE = 5, 8.0
HOUSE = "#8794a1"


@dataclass(slots=True, eq=False)
class Pen:
    """Draws a panel with its upper left corner at ``at`` (mm); ``scale`` in mm for a m."""

    page: Drawing
    site: Site
    panel: Panel
    scale: float
    at: Point
    labels: Labels = field(default_factory=Labels)
    _numbers: list[tuple[int, bool, Point, Point, str]] = field(default_factory=list)
    _jumpers: list[tuple[str, Point, str]] = field(default_factory=list)

    def put(self, flat: F) -> list[Point]:
        """Return the points on paper (mm) of points in the view, (K, 2) m."""
        x = self.at[0] + (flat[..., 0] - self.panel.low[0]) * self.scale
        y = self.at[1] + (self.panel.high[1] - flat[..., 1]) * self.scale
        return list(zip(np.atleast_1d(x).tolist(), np.atleast_1d(y).tolist(), strict=True))

    def house_lines(self, *, named: bool = True) -> None:
        """Draw the house and the ground, and name the view."""
        for line in self.panel.lines:
            self.page.line(self.put(line), HOUSE, 0.18)
        low, high = self.panel.low, self.panel.high
        (left, foot), (right, _) = self.put(np.array([low, [high[0], low[1]]]))
        plan = self.panel.view.name == "plan"
        if not plan and low[1] <= 0:
            ground = self.put(np.array([0.0, 0.0]))[0][1]
            self.page.line([(left - 4, ground), (right + 4, ground)], GREY, 0.35)
            foot = max(foot, ground)
        if not named:
            return
        title = self.panel.view.name.capitalize() + (", street at the bottom" if plan else "")
        title += ": the part with pixels" if self.panel.part else ""
        self.page.text((left, foot + 12), title, TextStyle(3.6, bold=True))
        self.labels.take((left, foot + 9, left + 2 * len(title), foot + 13))

    def line(self, layout: LineLayout, i: int, colour: str) -> None:
        """Draw one line's pixels, arrows and jumpers; their text comes last."""
        span = self.site.pixels.lines[i]
        points = self.put(self.panel.view.flat(self.site.pixels.xyz[span.slice]))
        shown, lit = self.panel.shown[span.slice], self.site.pixels.lit[span.slice]
        before: RunLayout | None = None
        for run in layout.runs:
            own = slice(run.first, run.first + run.count)
            if self.panel.view.name == "plan" and before is not None:
                self._wire(layout, before, run, colour)
            if run.count and shown[own].any():
                for point, seen, on in zip(points[own], shown[own], lit[own], strict=True):
                    if seen:
                        self.page.dot(point, 0.42, colour if on else "", colour, 0 if on else 0.15)
                self.reserve([p for p, seen in zip(points[own], shown[own], strict=True) if seen])
                self._arrow(points[own], shown[own], colour)
                self._note_numbers(points[own], shown[own], run.first, colour)
            before = run

    def tags(self, i: int, colour: str) -> None:
        """Label one line's ends and feeds, clear of all pixels drawn so far."""
        span = self.site.pixels.lines[i]
        points = self.put(self.panel.view.flat(self.site.pixels.xyz[span.slice]))
        shown = self.panel.shown[span.slice]
        on_edges = np.flatnonzero(self.site.pixels.edge[span.slice] >= 0)
        for where, text in ((on_edges[0], "start"), (on_edges[-1], "end")):
            if shown[where]:
                self._end(points[where], f"{span.name} {text}", colour)
        along = self.site.pixels.along_line[span.slice][on_edges]
        for cut in cuts(self.site):
            if cut.line == span.name:
                k = int(on_edges[np.searchsorted(along, cut.along).clip(1, len(along) - 1)])
                if shown[k] and shown[k - 1]:
                    self._cut(
                        points[k - 1],
                        points[k],
                        f"{cut.mark}: plus only, {cut.pixel} | {cut.pixel + 1}",
                    )
        here = [
            (joint, self.put(self.panel.view.flat(self.site.pixels.xyz[joint.pixel]))[0])
            for joint in joints(self.site)
            if self.panel.shown[joint.pixel] and not joint.cut
        ]
        for joint, at in here:
            if joint.line == span.name:
                self._flag(at, joint.mark, [other for _, other in here])

    def jumpers(self) -> None:
        """Label the jumpers with their lengths, with a thin line to labels that are far away."""
        for text, (x, y), colour in self._jumpers:
            candidates = around((x, y), self._outward((x, y)), (4, 6, 8, 11, 14, 18, 22))
            if point := self.labels.place(text, 2.4, candidates, must=True):
                if abs(point[1] - y) > 5 or abs(point[0] - x) > 5:
                    self.page.line([(x, y), leader((x, y), point, text, 2.4)], colour, 0.15)
                self.page.text(
                    (point[0], point[1] + 0.8), text, TextStyle(2.4, "middle", colour, halo=True)
                )

    def reserve(self, points: list[Point], rim: float = 0.5) -> None:
        """Keep labels so far (mm) from a run of pixels, by boxes of a few millimetres."""
        while points:
            x, y = points[0]
            near = next(
                (k for k, (u, v) in enumerate(points) if abs(u - x) + abs(v - y) > 3), len(points)
            )
            xs, ys = zip(*points[:near], strict=True)
            self.labels.take((min(xs) - rim, min(ys) - rim, max(xs) + rim, max(ys) + rim))
            points = points[near:]

    def numbers(self) -> None:
        """Write the numbers for which there is room, the ends of runs first."""
        for number, _, at, out, colour in sorted(self._numbers, key=lambda w: not w[1]):
            text = str(number)
            candidates = [(at[0] + r * out[0], at[1] + r * out[1]) for r in (2.9, 4.4)]
            if point := self.labels.place(text, 2.2, candidates):
                x, y = point
                self.page.text((x, y + 0.8), text, TextStyle(2.2, "middle", colour, halo=True))

    def _outward(self, at: Point) -> Point:
        """Return the direction from the view's middle to a point, a unit vector on paper."""
        middle = self.put((self.panel.low + self.panel.high) / 2)[0]
        u, v = at[0] - middle[0], at[1] - middle[1]
        size = (u * u + v * v) ** 0.5 or 1.0
        return u / size, v / size

    def _arrow(self, points: list[Point], shown: NDArray[np.bool_], colour: str) -> None:
        """Draw an arrow in the middle of the visible part of a run."""
        seen = np.flatnonzero(shown)
        if len(seen) < 2:
            return
        k = int(seen[len(seen) // 2])
        a, b = np.array(points[max(k - 1, 0)]), np.array(points[k])
        size = float(np.linalg.norm(b - a))
        if size > 1e-6:
            direction = (b - a) / size
            tip = (a + b) / 2 + 1.6 * direction
            self.page.arrow(
                (float(tip[0]), float(tip[1])),
                (float(direction[0]), float(direction[1])),
                3.2,
                colour,
            )

    def _note_numbers(
        self, points: list[Point], shown: NDArray[np.bool_], first: int, colour: str
    ) -> None:
        """Note the numbers to write: a run's ends and round numbers between, on its outer side."""
        at = np.array(points)
        run = at[-1] - at[0]
        size = float(np.linalg.norm(run))
        along = run / size if size > 1e-6 else np.array([1.0, 0.0])
        middle = at.mean(0)
        out = np.array([along[1], -along[0]])
        if out @ np.array(self._outward((float(middle[0]), float(middle[1])))) < 0:
            out = -out
        step_mm = size / max(1, len(points) - 1)
        step = max(MIN_STEP, round(round_step(MIN_DISTANCE / max(step_mm, 1e-3))))
        last = len(points) - 1
        for k in range(len(points)):
            end = k in (0, last)
            if shown[k] and (end or (first + k + 1) % step == 0):
                direction = (float(out[0]), float(out[1]))
                self._numbers.append((first + k + 1, end, points[k], direction, colour))
                self.page.line([tuple(at[k] + 0.5 * out), tuple(at[k] + 1.4 * out)], colour, 0.15)

    def _wire(self, layout: LineLayout, before: RunLayout, run: RunLayout, colour: str) -> None:
        """Draw wire without pixels between two runs."""
        left = layout.edge_layouts[before.item.edge].at(np.array(before.leave))
        right = layout.edge_layouts[run.item.edge].at(np.array(run.enter))
        ends = self.put(self.panel.view.flat(np.stack([left, right])))
        (x, y), (u, v) = ends
        if abs(x - u) + abs(y - v) < 0.5 and not run.jumper:
            return
        self.page.line(ends, colour, 0.3, 1.0)
        steps = max(2, int(abs(x - u) + abs(y - v)))
        self.reserve([(x + k / steps * (u - x), y + k / steps * (v - y)) for k in range(steps)])
        if run.jumper:
            text = f"jumper {show_written(run.jumper, self.site.house.unit)}"
            self._jumpers.append((text, ((x + u) / 2, (y + v) / 2), colour))

    def _end(self, at: Point, text: str, colour: str) -> None:
        self.page.dot(at, 1.5, "", colour, 0.4)
        self.labels.take((at[0] - 1.5, at[1] - 1.5, at[0] + 1.5, at[1] + 1.5))
        # Where two lines meet, the label of one goes next to that of the other, or farther off.
        half, down = width_of(text, 2.5) / 2, (0.0, 1.0)
        beside = [(at[0] + side * (half + far), at[1] + 4.5) for far in (4, 9) for side in (-1, 1)]
        candidates = around(at, down, (4.5, 7.4)) + beside + around(at, down, (9.5, 12, 15, 19))
        if point := self.labels.place(text, 2.5, candidates, must=True):
            if max(abs(point[1] - at[1]), abs(point[0] - at[0]) - half) > 7.5:
                self.page.line([at, leader(at, point, text, 2.5)], colour, 0.15)
            self.page.text(
                (point[0], point[1] + 0.9),
                text,
                TextStyle(2.5, "middle", colour, bold=True, halo=True),
            )

    def _cut(self, before: Point, after: Point, text: str) -> None:
        """Draw two strokes across the line where its plus is cut, and say so."""
        (x, y), (u, v) = before, after
        size = ((u - x) ** 2 + (v - y) ** 2) ** 0.5 or 1.0
        p, q = (u - x) / size, (v - y) / size
        at = ((x + u) / 2, (y + v) / 2)
        for side in (-0.7, 0.7):
            a, b = at[0] + side * p, at[1] + side * q
            ends = [(a - 2 * q - 0.5 * p, b + 2 * p - 0.5 * q)]
            ends.append((a + 2 * q + 0.5 * p, b - 2 * p + 0.5 * q))
            self.page.line(ends, PLUS, 0.5)
        self.labels.take((at[0] - 2, at[1] - 2, at[0] + 2, at[1] + 2))
        half = halves(text, 2.6)
        u, v = self.labels.lead(at, half, fan(at, self._outward(at), (5, 8, 11, 15, 20, 26)))
        self.page.line([at, rim(at, (u, v), half)], PLUS, 0.2)
        style = TextStyle(2.6, "middle", PLUS, bold=True, halo=True)
        self.page.text((u, v + 0.9), text, style)

    def _flag(self, at: Point, text: str, others: list[Point]) -> None:
        """Flag the point where a pair of wires connects, nearer to it than to ``others``."""
        candidates = own_first(fan(at, self._outward(at), (8, 11, 14, 18, 23)), at, others)
        half = max(3.2, 0.28 * 2.8 * len(text) + 1)
        u, v = self.labels.lead(at, (half + 1, 3.6), candidates)
        self.page.line([at, (u, v)], INK, 0.25)
        box = [(u - half, v - 2.2), (u + half, v - 2.2), (u + half, v + 2.2)]
        self.page.area([*box, (u - half, v + 2.2)], "#ffe08a", INK, 0.2)
        self.page.text((u, v + 1), text, TextStyle(2.8, "middle", bold=True))

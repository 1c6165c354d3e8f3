"""The symbols of the wiring diagram: pairs, fuses, joints, strings with connectors, cuts."""

from __future__ import annotations

from collections.abc import Sequence

from lumenmap.drawing.canvas import GREY, INK, Drawing, Point, TextStyle
from lumenmap.parts.fuses import BLADES

PLUS, MINUS, DATA, STRING = "#c4161c", INK, "#0072b2", "#eef1f4"
#: How the colour words of blade fuses are drawn: what each word says, lightened for print.
_FUSES = {
    "black": "#2a2f36",
    "grey": "#a3abb3",
    "violet": "#7d4fa3",
    "pink": "#f4a9bd",
    "tan": "#dcb98a",
    "brown": "#8a5a2b",
    "red": "#d4242a",
    "blue": "#2b62c9",
    "yellow": "#f6d93a",
    "clear": "#ffffff",
    "green": "#2f9e44",
    "blue-green": "#1d9a94",
    "orange": "#f08a1f",
}
_DARK = ("black", "violet", "brown", "red", "blue", "green", "blue-green")
#: Half the distance between the two wires of a pair, and their width (mm).
APART, WIDTH = 0.55, 0.55
CHIP = 6.6


def rectangle(page: Drawing, at: Point, size: Point, fill: str, colour: str = INK) -> None:
    """Draw a box with its upper left corner at a point (mm)."""
    (x, y), (w, h) = at, size
    page.area([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill, colour, 0.3)


def dashed_box(page: Drawing, at: Point, size: Point) -> None:
    """Draw a box that holds others."""
    (x, y), (w, h) = at, size
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
    page.line(corners, INK, 0.35, 1.6)


def fuse(page: Drawing, at: Point, width: float, amps: float | None) -> None:
    """Draw a fuse, with its left end at a point: its rating and its colour, in words too."""
    x, y = at
    corner, size = (x, y - CHIP / 2), (width, CHIP)
    if amps is None:
        rectangle(page, corner, size, "#ffffff", PLUS)
        page.text((x + width / 2, y + 1.2), "NO FUSE", TextStyle(3.4, "middle", PLUS, bold=True))
        return
    word = BLADES.get(amps, "")
    ink = "#ffffff" if word in _DARK else INK
    rectangle(page, corner, size, _FUSES.get(word, "#ffffff"))
    text = f"{amps:g} A {word}".strip()
    room = min(3.6, (width - 1.5) / (0.56 * len(text)))
    if room >= 2.6:
        style = TextStyle(room, "middle", ink, bold=True)
        page.text((x + width / 2, y + 0.36 * room), text, style)
        return
    for line, down in ((f"{amps:g} A", -0.5), (word, 2.3)):
        small = min(2.8, (width - 0.8) / (0.56 * max(3, len(line))))
        style = TextStyle(small, "middle", ink, bold=True)
        page.text((x + width / 2, y + down), line, style)


def pair(page: Drawing, points: Sequence[Point], heavy: bool = False) -> None:
    """Draw a pair that runs level, then up: red for plus, black for minus."""
    wide = WIDTH * (1.7 if heavy else 1.0)
    apart = APART * (1.6 if heavy else 1.0)
    for colour, side in ((MINUS, 1.0), (PLUS, -1.0)):
        shifted = [(x + side * apart, y + side * apart) for x, y in points]
        if len(points) == 2 and points[0][1] == points[1][1]:
            shifted = [(x, y + side * apart) for x, y in points]
        elif len(points) == 3:
            shifted[0] = (points[0][0], shifted[0][1])
        if points[-1][1] != points[0][1]:  # it ends at the line, whose edge is level
            shifted[-1] = (shifted[-1][0], points[-1][1])
        page.line(shifted, colour, wide)


def joint(page: Drawing, at: Point) -> None:
    """Draw the dot where wires are joined."""
    page.dot(at, 1.15, INK)


def connector(page: Drawing, x: float, top: float, foot: float) -> None:
    """Draw a plug and a socket, mated."""
    for side in (-1.25, 0.15):
        rectangle(page, (x + side, top - 1), (1.1, foot - top + 2), "#ffffff")


def cut(page: Drawing, x: float, y: float) -> None:
    """Draw the cut of a plus wire at a height: a gap between two slanting strokes."""
    page.area(
        [(x - 1.5, y - 1.2), (x + 1.5, y - 1.2), (x + 1.5, y + 1.2), (x - 1.5, y + 1.2)], "#ffffff"
    )
    for side in (-1.1, 1.1):
        page.line([(x + side - 0.8, y + 2.2), (x + side + 0.8, y - 2.2)], PLUS, 0.6)


def note(page: Drawing, at: Point, text: str, size: float = 3.0) -> None:
    """Write grey text that can be read over lines."""
    page.text(at, text, TextStyle(size, colour=GREY, halo=True))

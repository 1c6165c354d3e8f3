"""A drawing as an SVG 1.1 file."""

from __future__ import annotations

from xml.sax.saxutils import escape

from lumenmap.core.plain import plain
from lumenmap.drawing.canvas import Area, Dot, Drawing, Mark, Stroke

FONT = "Helvetica, Arial, sans-serif"


def svg(drawing: Drawing) -> str:
    """Return the drawing as SVG text; one user unit is a millimetre."""
    w, h = _n(drawing.width), _n(drawing.height)
    marks = "\n".join(_mark(m) for m in drawing.marks)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}" font-family="{FONT}">\n'
        f'<rect width="{w}" height="{h}" fill="#ffffff"/>\n{marks}\n</svg>\n'
    )


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _points(points: tuple[tuple[float, float], ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _mark(mark: Mark) -> str:
    if isinstance(mark, Stroke):
        dash = f' stroke-dasharray="{_n(mark.dash)}"' if mark.dash else ""
        return (
            f'<polyline points="{_points(mark.points)}" fill="none" stroke="{mark.colour}" '
            f'stroke-width="{_n(mark.width)}" stroke-linejoin="round"{dash}/>'
        )
    if isinstance(mark, Area):
        line = f' stroke="{mark.colour}" stroke-width="{_n(mark.width)}"' if mark.width else ""
        return (
            f'<polygon points="{_points(mark.points)}" fill="{mark.fill}" '
            f'stroke-linejoin="round"{line}/>'
        )
    if isinstance(mark, Dot):
        line = f' stroke="{mark.colour}" stroke-width="{_n(mark.width)}"' if mark.width else ""
        return (
            f'<circle cx="{_n(mark.centre[0])}" cy="{_n(mark.centre[1])}" r="{_n(mark.radius)}" '
            f'fill="{mark.fill or "none"}"{line}/>'
        )
    x, y, style = _n(mark.at[0]), _n(mark.at[1]), mark.style
    rotated = f' transform="rotate({_n(-style.rotation)} {x} {y})"' if style.rotation else ""
    bold = ' font-weight="bold"' if style.bold else ""
    halo = (
        f' stroke="#ffffff" stroke-width="{_n(style.size / 4)}" paint-order="stroke" '
        'stroke-linejoin="round"'
        if style.halo
        else ""
    )
    return (
        f'<text x="{x}" y="{y}" font-size="{_n(style.size)}" text-anchor="{style.anchor}" '
        f'fill="{style.colour}"{bold}{halo}{rotated}>{escape(plain(mark.text))}</text>'
    )

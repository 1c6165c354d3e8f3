"""Line plots as SVG text: volts along each line, amps over time with the budget.

Colours are Okabe and Ito's, which people with any kind of colour vision tell apart [P: "Color
Universal Design", 2008, from memory].
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.units import LENGTH
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.report.report import PowerReport, ShowTrace

F = NDArray[np.float64]

COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9")
WIDTH, HEIGHT = 900, 360
_LEFT, _RIGHT, _TOP, _BOTTOM = 64, 24, 44, 48
#: Points drawn a curve: more than there are columns to draw them in adds nothing.
_POINTS = 1600


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A named curve; ``dashed`` ones are limits."""

    name: str
    x: F
    y: F
    dashed: bool = False


def volts_along(report: PowerReport) -> str:
    """Return an SVG of the volts at every pixel against the way along its line, all cases."""
    unit = report.site.house.unit if report.site.house.unit in ("ft", "m") else "m"
    scale = float(LENGTH[unit])
    pixelmap, kind = report.site.pixels, report.site.house.kind
    panels = []
    top = max(s.volts for s in report.site.house.supplies)
    low = min(float(a.volts.min()) for a in report.cases)
    floor = min(low, kind.min_volts)
    span_volts = (floor - 0.08 * (top - floor), top + 0.05 * (top - floor))
    for span in pixelmap.lines:
        x = pixelmap.along_line[span.slice] / scale
        curves = [Curve(a.title, x, a.volts[span.slice]) for a in report.cases]
        ends = np.array([0.0, span.length / scale])
        least = Curve(f"least: {kind.min_volts:g} V", ends, np.full(2, kind.min_volts), True)
        title = f'{report.site.house.name}: volts along line "{span.name}"'
        panels.append(_panel(title, f"{unit} along the line", "V", [*curves, least], span_volts))
    return _svg(panels)


def amps_over_time(show: ShowTrace, budgets: Budgets) -> str:
    """Return an SVG of the amps of each supply and branch over a show, with their budgets."""
    time = np.arange(len(show.amps)) / show.fps
    panels = []
    for k, (name, kind) in enumerate(zip(budgets.names, budgets.kinds, strict=True)):
        if kind == "wire":
            continue
        x, low, high = _thinned(time, show.amps[:, k])
        limit = float(budgets.amps[k])
        curves = [
            Curve("drawn", np.repeat(x, 2), np.column_stack([low, high]).ravel()),
            Curve(
                f"budget: {limit:g} A",
                np.array([0.0, time[-1] if len(time) > 1 else 1.0]),
                np.full(2, limit),
                True,
            ),
        ]
        top = 1.08 * max(limit, float(show.amps[:, k].max()))
        panels.append(_panel(f"{show.title}: {kind} {name}", "s", "A", curves, (0, top)))
    return _svg(panels)


def _thinned(x: F, y: F) -> tuple[F, F, F]:
    """Return x and the lowest and highest y of each column, so that no spike is lost."""
    step = max(1, math.ceil(len(x) / (_POINTS // 2)))
    starts = np.arange(0, len(x), step)
    return x[starts], np.minimum.reduceat(y, starts), np.maximum.reduceat(y, starts)


def _ticks(low: float, high: float, most: int = 7) -> list[float]:
    """Return round numbers between two bounds."""
    if not high > low:
        return [low]
    raw = (high - low) / most
    unit = 10 ** math.floor(math.log10(raw))
    step = next(m * unit for m in (1, 2, 5, 10) if m * unit >= raw)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def _panel(
    title: str, x_name: str, y_name: str, curves: Sequence[Curve], y_span: tuple[float, float]
) -> str:
    x_low = min(float(c.x.min()) for c in curves)
    x_high = max(float(c.x.max()) for c in curves)
    x_high = x_high if x_high > x_low else x_low + 1
    inner = (WIDTH - _LEFT - _RIGHT, HEIGHT - _TOP - _BOTTOM)

    def px(x: float) -> float:
        return _LEFT + (x - x_low) / (x_high - x_low) * inner[0]

    def py(y: float) -> float:
        return _TOP + (y_span[1] - y) / (y_span[1] - y_span[0]) * inner[1]

    parts = [f'<text x="{_LEFT}" y="18" class="title">{escape(title)}</text>']
    for t in _ticks(*y_span):
        y = py(t)
        parts.append(f'<path class="grid" d="M{_LEFT} {y:.1f}H{WIDTH - _RIGHT}"/>')
        parts.append(f'<text x="{_LEFT - 8}" y="{y + 4:.1f}" class="end">{t:g} {y_name}</text>')
    for t in _ticks(x_low, x_high, 10):
        x = px(t)
        parts.append(f'<path class="tick" d="M{x:.1f} {HEIGHT - _BOTTOM}v5"/>')
        parts.append(f'<text x="{x:.1f}" y="{HEIGHT - _BOTTOM + 19}" class="mid">{t:g}</text>')
    parts.append(f'<text x="{_LEFT + inner[0] / 2}" y="{HEIGHT - 8}" class="mid">{x_name}</text>')
    parts.append(f'<path class="axis" d="M{_LEFT} {_TOP}V{HEIGHT - _BOTTOM}H{WIDTH - _RIGHT}"/>')
    plain = iter(COLOURS * (1 + len(curves) // len(COLOURS)))
    place = _LEFT
    for c in curves:
        colour = "#444" if c.dashed else next(plain)
        dash = ' stroke-dasharray="7 5"' if c.dashed else ""
        path = "M" + "L".join(f"{px(x):.1f} {py(y):.1f}" for x, y in zip(c.x, c.y, strict=True))
        parts.append(f'<path class="curve" stroke="{colour}"{dash} d="{path}"/>')
        if c.dashed:  # a limit is named on its line
            x, y = px(float(c.x[-1])) - 4, py(float(c.y[-1])) - 6
            parts.append(f'<text x="{x:.1f}" y="{y:.1f}" class="end">{escape(c.name)}</text>')
            continue
        parts.append(f'<path class="curve" stroke="{colour}"{dash} d="M{place} 31h22"/>')
        parts.append(f'<text x="{place + 28}" y="35">{escape(c.name)}</text>')
        place += 48 + round(6.6 * len(c.name))
    return "\n".join(parts)


def _svg(panels: Sequence[str]) -> str:
    """Stack panels into one picture."""
    height = HEIGHT * len(panels)
    body = "\n".join(
        f'<g transform="translate(0 {i * HEIGHT})">\n{panel}\n</g>'
        for i, panel in enumerate(panels)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        f'width="{WIDTH}" height="{height}">\n'
        "<style>text{font:12px sans-serif;fill:#333}.title{font-weight:bold;font-size:14px}"
        ".end{text-anchor:end}.mid{text-anchor:middle}.grid{stroke:#ddd;fill:none}"
        ".axis,.tick{stroke:#333;fill:none}.curve{fill:none;stroke-width:1.6}</style>\n"
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>\n{body}\n</svg>\n'
    )

"""Plots of the power report: voltage along each line, current over time with the budgets."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.units import LENGTH
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.plot import Curve, Panel, line_plot
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.report.report import PowerReport, ShowTrace

F = NDArray[np.float64]

#: Columns of a plot of current over time: more than the picture has adds nothing.
_COLUMNS = 800


def volts_along(report: PowerReport) -> Drawing:
    """Return a plot of the voltage at every pixel along its line, for every case of the report."""
    house, pixelmap = report.site.house, report.site.pixels
    unit = house.unit if house.unit in ("ft", "m") else "m"
    metres = float(LENGTH[unit])
    high = max(s.volts for s in house.supplies)
    low = min(house.kind.min_volts, *(float(a.volts.min()) for a in report.cases))
    y_range = (low - 0.08 * (high - low), high + 0.05 * (high - low))
    panels = []
    for span in pixelmap.lines:
        x = pixelmap.along_line[span.slice] / metres
        curves = [Curve(a.title, x, a.volts[span.slice]) for a in report.cases]
        ends = np.array([0.0, span.length / metres])
        minimum = house.kind.min_volts
        name = f"minimum: {minimum:g} V"
        curves.append(Curve(name, ends, np.full(2, minimum), limit=True))
        title = f'{house.name}: voltage along line "{span.name}"'
        panels.append(Panel(title, f"{unit} along the line", "V", curves, y_range))
    return line_plot(panels)


def amps_over_time(show: ShowTrace, budgets: Budgets) -> Drawing:
    """Return a plot of the current of each supply and branch over a show, with its budget."""
    time = np.arange(len(show.amps)) / show.fps
    panels = []
    for k, (name, kind) in enumerate(zip(budgets.names, budgets.kinds, strict=True)):
        if kind == "wire":
            continue
        x, low, high = _columns(time, show.amps[:, k])
        limit = float(budgets.amps[k])
        ends = np.array([0.0, time[-1] if len(time) > 1 else 1.0])
        curves = [
            Curve("drawn", np.repeat(x, 2), np.column_stack([low, high]).ravel()),
            Curve(f"budget: {limit:g} A", ends, np.full(2, limit), limit=True),
        ]
        top = 1.08 * max(limit, float(show.amps[:, k].max()))
        panels.append(Panel(f"{show.title}: {kind} {name}", "time, s", "A", curves, (0, top)))
    return line_plot(panels)


def _columns(x: F, y: F) -> tuple[F, F, F]:
    """Return x and the lowest and highest y of each column, so that no peak is lost."""
    step = max(1, math.ceil(len(x) / _COLUMNS))
    starts = np.arange(0, len(x), step)
    return x[starts], np.minimum.reduceat(y, starts), np.maximum.reduceat(y, starts)

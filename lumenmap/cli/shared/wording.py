"""A report as lines of text, for the terminal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from lumenmap.core.wording import how_long, several, some

if TYPE_CHECKING:
    from lumenmap.jobs.reports import CheckReport
    from lumenmap.power.report.tally import BudgetReport

#: Flashes that are listed; the report holds the rest.
_FLASHES = 5


def summary(report: CheckReport) -> list[str]:
    """Return the lines of a show's short report: what it is, its currents, its problems."""
    lines = [
        f"{report['show']} on {report['house']}: {some(report['pixels'], 'pixel')}, "
        f"{some(report['frames'], 'frame')}, {how_long(report['seconds'])} at "
        f"{report['fps']:g} frames/s"
    ]
    lines += [_budget(b) for b in _notable(report["budgets"])]
    lines.append(_capped(report))
    lines += _between(report["budgets"])
    lines.append(f"  {report['seam']['text']}")
    lines += refresh(report["refresh"])
    lines += [f"  PROBLEM: {problem}" for problem in report["problems"]]
    lines += flashing(report["flashing"])
    lines += [f"  ACCEPTED: {danger}" for danger in report["accepted"]]
    lines += [f"  NOTE: {note}" for note in [*report["unused"], *report["notes"]]]
    return lines


def flashing(found: list[dict[str, Any]]) -> list[str]:
    """Return where more than three flashes a second were counted, and what that means."""
    from lumenmap.codes.flashes import ADVICE

    shown = [f"  FLASHING: {f['message']}" for f in found[:_FLASHES]]
    if len(found) > _FLASHES:
        shown.append(f"  FLASHING: and {len(found) - _FLASHES} more; see the report")
    return [*shown, f"  {ADVICE}"] if found else []


def _notable(budgets: list[BudgetReport]) -> list[BudgetReport]:
    """Return the budgets worth a line: supplies, branches, and the fullest of the many wires."""
    wires = [b for b in budgets if b["kind"] == "wire"]
    fullest = max(wires, key=lambda b: b["peak"] / b["amps"] if b["amps"] else 0, default=None)
    return [b for b in budgets if b["kind"] != "wire" or b is fullest]


def _between(budgets: list[BudgetReport]) -> list[str]:
    """Return what is guaranteed between packets, where there are several."""
    from lumenmap.power.account.account import over_between
    from lumenmap.power.limits.torn import PacketFigures

    known = [(b["name"], b["amps"], b["between"]) for b in budgets]
    rows = [(name, amps, PacketFigures(**b)) for name, amps, b in known if b]
    if not rows:
        return []
    most = max(rows, key=lambda row: row[2].any_order / row[1])
    return [
        f"  between packets: {most[0]} at most {most[2].any_order:.2f} A of {most[1]:g} A. "
        + over_between(rows)
    ]


def _budget(b: BudgetReport) -> str:
    share = f" ({100 * (b['peak'] / b['amps']):.0f} %)" if b["amps"] > 0 else ""
    what = "fullest wire" if b["kind"] == "wire" else b["kind"]
    return (
        f"  {what} {b['name']}: peak {b['peak']:.2f} A of {b['amps']:g} A{share}"
        f" at {how_long(b['worst_time'])}, mean {b['mean']:.2f} A"
    )


def _capped(report: CheckReport) -> str:
    if not report["capped_frames"]:
        return "  within every budget: no frame was dimmed"
    least = report["least_gain"]
    worst = max(report["budgets"], key=lambda b: b["wanted"] / b["amps"] if b["amps"] else 0)
    return (
        f"  {report['capped_frames']:,} of {report['frames']:,} frames dimmed to stay within "
        f"budget, the worst to {100 * least:.0f} % (undimmed: {worst['wanted']:.2f} A through "
        f"{worst['name']})"
    )


def refresh(problems: list[dict[str, Any]]) -> list[str]:
    """Return which data lines are too long for the frame rate, and the rate that they can take."""
    if not problems:
        return []
    most = [math.floor(10 * p["most_fps"]) / 10 for p in problems]
    lines = [
        f'"{p["line"]}" ({some(p["pixels"], "pixel")}, at most {rate:g} frames/s)'
        for p, rate in zip(problems, most, strict=True)
    ]
    return [
        f"  PROBLEM: {several('line', lines)}: too many pixels on one data wire for the show's "
        f"{problems[0]['fps']:g} frames/s; lower fps to {math.floor(min(most))}, or split the "
        "line between two outputs"
    ]

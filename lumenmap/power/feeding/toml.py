"""A plan as TOML for the house file, and where its parts are, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lumenmap.core.lengths import show_length, show_written
from lumenmap.core.units import LENGTH
from lumenmap.core.units import length as read_length
from lumenmap.house.choices import Unit
from lumenmap.house.supplies import Feed, Tap
from lumenmap.power.circuit.places import show_pixels
from lumenmap.power.feeding.groundwork.plan import Plan
from lumenmap.site import Site

#: Lengths that differ by less are the same (m).
_SAME = 1e-9


def where(plan: Plan, site: Site) -> list[str]:
    """Return where each feed, tap and cut of a plan is: by pixel, distance and edge."""
    trunks = {t.name: t.line for t in plan.trunks}
    leads: list[tuple[Feed | Tap, str]] = [(f, f.line) for f in plan.feeds]
    leads += [(t, trunks[t.trunk]) for t in plan.taps]
    found = [
        f"{_fused(lead)}, about {_up(lead.length, site.house.unit)}: {lead.at} of "
        f'"{line}", {_place(site, line, lead.at)}'
        for lead, line in leads
    ]
    cuts = [f'"{line}" {", ".join(c)}' for line, c in plan.cuts]
    return [*found, *([f"cut the plus wire, not minus or data: {'; '.join(cuts)}"] if cuts else [])]


def _up(length: float, unit: Unit) -> str:
    """Format an estimated length of wire, up to the next half foot or 10 cm."""
    step = float(LENGTH["ft"]) / 2 if unit in ("ft", "in") else 0.1
    return show_length(step * math.ceil(length / step - 1e-6), unit)


def _fused(lead: Feed | Tap) -> str:
    return f"{lead.wire}, {lead.fuse:g} A" if lead.fuse else lead.wire


def _place(site: Site, line: str, at: str) -> str:
    """Say a place by its pixels, its distance and its edge."""
    own = site.places[line]
    place = own.place(at, "at")
    span = own.span
    near = min(max(own.pixel_before(place.wire) - 1, 0), span.count - 1) + span.first
    number = int(site.pixels.edge[near])
    edge = f", on {site.pixels.edge_names[number]}" if number >= 0 else ""
    return show_pixels(own, place.wire) + edge


def plan_toml(plan: Plan, site: Site) -> list[str]:
    """Return a plan's tables, in place of the house file's supplies, feeds, trunks, taps, buses."""
    lines = [
        f'# Plan "{plan.name}": in place of every [[supply]], [[feed]], [[trunk]], [[tap]] and',
        "# [[bus]] of the house file. Lead-ins are estimates: measure yours.",
    ]
    if plan.kind:
        lines += [f'# In [pixel], in place of what is there: kind = "{plan.kind.name}"']
    for line, cuts in plan.cuts:
        lines.append(f'# In the [[line]] "{line}": cuts = [{", ".join(map(_text, cuts))}]')
    for rows in (_supplies(plan), _feeds(plan), _trunks(plan), _taps(plan), _buses(plan)):
        for title, pairs in rows:
            lines += ["", f"[[{title}]]"]
            lines += [f"{key} = {_value(v, site)}" for key, v in pairs.items() if v is not None]
    return lines


def _value(value: object, site: Site) -> str:
    """Return a value as TOML; a place with a comment that says where it is."""
    if isinstance(value, _Metres):
        return _length(value.metres, site.house.unit)
    if isinstance(value, tuple):
        return f"[{', '.join(map(_text, value))}]"
    if isinstance(value, _At):
        return f"{_text(value.text)}  # {_place(site, value.line, value.text)}"
    return _text(value) if isinstance(value, str) else f"{value:g}"


@dataclass(frozen=True, slots=True)
class _Metres:
    metres: float


@dataclass(frozen=True, slots=True)
class _At:
    line: str
    text: str


Pairs = dict[str, object]


def _supplies(plan: Plan) -> Iterator[tuple[str, Pairs]]:
    for s in plan.supplies:
        own: Pairs = {"name": s.name, "volts": s.volts, "amps": s.amps}
        yield "supply", own | ({"label_amps": s.label} if s.label else {})


def _feeds(plan: Plan) -> Iterator[tuple[str, Pairs]]:
    for f in plan.feeds:
        own: Pairs = {"name": f.name, "supply": f.supply, "to": f.line}
        own |= {"at": _At(f.line, f.at), "wire": f.wire}
        yield "feed", own | {"length": _Metres(f.length), "fuse": f.fuse}


def _trunks(plan: Plan) -> Iterator[tuple[str, Pairs]]:
    for t in plan.trunks:
        own: Pairs = {"name": t.name, "supply": t.supply, "along": t.line, "start": t.start}
        own |= {"stop": t.stop, "wire": t.wire, "length": _Metres(t.length), "fuse": t.fuse}
        yield "trunk", own


def _taps(plan: Plan) -> Iterator[tuple[str, Pairs]]:
    lines = {t.name: t.line for t in plan.trunks}
    for t in plan.taps:
        at = _At(lines[t.trunk], t.at) if t.at else None
        own: Pairs = {"name": t.name, "trunk": t.trunk, "at": at, "wire": t.wire}
        yield "tap", own | {"length": _Metres(t.length), "fuse": t.fuse}


def _buses(plan: Plan) -> Iterator[tuple[str, Pairs]]:
    for b in plan.buses:
        own: Pairs = {"name": b.name, "along": b.line, "wire": b.wire, "start": b.start}
        own |= {"stop": b.stop, "ties": b.ties or None, "tie_fuse": b.tie_fuse}
        yield "bus", own | ({"tie_every": _Metres(b.every)} if b.every else {})


def _length(metres: float, unit: Unit) -> str:
    """Return a length as a number in the house's unit, or as a string as a tape shows it."""
    number = f"{metres / float(LENGTH[unit]):.3f}".rstrip("0").rstrip(".")
    written = show_written(metres, unit)
    feet = written.endswith((" ft", " in"))
    exact = abs(float(read_length(written)) - metres) < _SAME
    return f'"{written}"' if exact and feet and (unit == "m" or "." in number) else number


def _text(value: str) -> str:
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'

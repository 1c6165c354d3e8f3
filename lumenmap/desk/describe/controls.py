"""An option as a control: its kind, unit and range; and its value as the page shows it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from lumenmap.core.units import LENGTH
from lumenmap.desk.wire import facts
from lumenmap.motion.options import Angle, Count, Duration, Kind, Length, Rate, Speed
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.ways import WAYS
from lumenmap.motion.word_options import Way
from lumenmap.routes.route import Route
from lumenmap.show.effects.specs import Spec

#: Places of a ramp's course that are told, for a small drawing of it.
_COURSE = 49


def measure(kind: Kind, unit: str) -> tuple[str, float]:
    """Return the unit that a kind's numbers are written in, and how much of SI one of it is."""
    if isinstance(kind, Length):
        return unit, float(LENGTH[unit])
    if isinstance(kind, Speed):
        return f"{unit}/s", float(LENGTH[unit])
    if isinstance(kind, Angle):
        return "deg", math.pi / 180
    return {Duration: "s", Rate: "/s"}.get(type(kind), ""), 1.0


def number(value: Any, kind: Kind, unit: str) -> float | None:
    """Return a value in SI as a number in the kind's unit; None for words and what has no end."""
    plain = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not plain or not math.isfinite(value):
        return None
    if isinstance(kind, Count):
        return float(value)
    return float(f"{value / measure(kind, unit)[1]:.6g}")


def option(spec: Spec, unit: str) -> facts.Option:
    """Return an option, or a key of a table, as a control."""
    kind = spec.kind
    choices = tuple(WAYS) if isinstance(kind, Way) else getattr(kind, "names", ())
    low, high = kind.ends(unit)
    about = None if spec.default is None else kind.about(spec.default, unit)
    return facts.Option(
        name=spec.name,
        kind=type(kind).__name__.lower(),
        help=kind.help.replace("`", "").removesuffix("."),
        expected=kind.expected(unit),
        unit=measure(kind, unit)[0],
        low=number(low, kind, unit),
        high=number(high, kind, unit),
        default=number(about, kind, unit),
        default_text=spec.usual(unit),
        whole=isinstance(kind, Count),
        choices=list(choices),
        varies=spec.may_vary,
    )


def value(name: str, given: Any, kind: Kind, unit: str) -> facts.Value:
    """Return a value in SI as the page shows it."""
    if isinstance(given, Ramp):
        return facts.Value(
            name=name, number=None, text=_course(given, kind, unit), ramp=_ramp(given, kind, unit)
        )
    text = kind.unset if given is None else kind.text(given, unit)
    if isinstance(given, Route):
        text = f"along {given.name}" if given.name else ", ".join(s.edge for s in given.edges)
    return facts.Value(name=name, number=number(given, kind, unit), text=str(text)[:200], ramp=None)


def values(specs: Mapping[str, Spec], given: Mapping[str, Any], unit: str) -> list[facts.Value]:
    """Return the values of all options, those that aren't given too.

    A default is told as round as a person would write it; what is in the file, as it is there.
    """
    found = []
    for name, spec in specs.items():
        here = given.get(name)
        if here is not None and here == spec.default:
            here = spec.kind.about(here, unit)
        found.append(value(name, here, spec.kind, unit))
    return found


def _course(ramp: Ramp, kind: Kind, unit: str) -> str:
    steps = " to ".join(kind.text(v, unit) for v in ramp.to[:8])
    more = " to …" if len(ramp.to) > 8 else ""
    again = ", again and again" if ramp.repeat else ""
    return f"{steps}{more} in {ramp.at[-1] - ramp.at[0]:.4g} s{again}"[:200]


def _ramp(ramp: Ramp, kind: Kind, unit: str) -> facts.Ramp:
    one = measure(kind, unit)[1]
    course = ramp(np.linspace(ramp.at[0], ramp.at[-1], _COURSE)[: _COURSE - ramp.repeat])
    return facts.Ramp(
        at=[round(t, 6) for t in ramp.at],
        to=[float(f"{v / one:.6g}") for v in ramp.to],
        course=[float(f"{v / one:.4g}") for v in course],
    )

"""The keys of a show file's tables as controls, read from the tables' own models.

A key's description, type and range stand in its pydantic model, and nowhere else: here they become
the kinds that effects' options have, so that the page needs one control for both.
"""

from __future__ import annotations

import math
import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic.fields import FieldInfo

from lumenmap.core.quantity import Quantity
from lumenmap.core.toml.tables import Table
from lumenmap.desk.describe.controls import option, values
from lumenmap.desk.wire import facts
from lumenmap.motion.easing import NAMES
from lumenmap.motion.options import Choice, Count, Duration, Kind, Share, Way, Word
from lumenmap.routes.table import RouteTable
from lumenmap.show.effects.specs import Spec
from lumenmap.show.file import CueTable, LimitTable, ShowTable
from lumenmap.show.layer_file import LayerTable, TurnsTable
from lumenmap.show.model import Layer, Show

_EASINGS = tuple(name for name in NAMES if "(" not in name)


class Flag(Word):
    """True or false."""

    def text(self, value: Any, unit: str = "m") -> str:  # noqa: ARG002 -- the base's signature
        """Return it as a file has it."""
        return str(bool(value)).lower()

    def expected(self, unit: str = "m") -> str:  # noqa: ARG002 -- the base's signature
        """Say what it is."""
        return "true or false"


class Text(Word):
    """A line of text."""

    def expected(self, unit: str = "m") -> str:  # noqa: ARG002 -- the base's signature
        """Say what it is."""
        return "one line of text"


class Envelope(Share):
    """A share that is always a ramp."""


@dataclass(frozen=True, slots=True)
class CountOrWord(Count):
    """A whole number, or one of some words."""

    names: tuple[str, ...] = ()

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it as a file has it."""
        return value if isinstance(value, str) else Count.text(self, value, unit)


def _marks(annotation: Any, found: Sequence[Any]) -> tuple[list[Any], list[Any]]:
    """Return the plain types that a key may have, and the marks on them."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return _marks(inner, [*marks, *found])
    if get_origin(annotation) in (Union, types.UnionType):
        parts = [_marks(a, ()) for a in get_args(annotation) if a is not types.NoneType]
        return [t for p in parts for t in p[0]], [*found, *(m for p in parts for m in p[1])]
    return [annotation], list(found)


def _range(marks: Sequence[Any]) -> tuple[float, float]:
    plain = [one for m in marks for one in (m.metadata if isinstance(m, FieldInfo) else [m])]
    low: list[Any] = [m.ge if isinstance(m, Ge) else m.gt for m in plain if isinstance(m, (Ge, Gt))]
    high: list[Any] = [
        m.le if isinstance(m, Le) else m.lt for m in plain if isinstance(m, (Le, Lt))
    ]
    return float(max([-math.inf, *low])), float(min([math.inf, *high]))


def _kind(help_: str, plain: Sequence[Any], marks: Sequence[Any]) -> Kind:
    """Return the kind of a key's values."""
    quantity = next((m.words for m in marks if isinstance(m, Quantity)), "")
    words = next((get_args(t) for t in plain if get_origin(t) is Literal), ())
    low, high = _range(marks)
    number: dict[str, Any] = {"help": help_, "low": low, "high": high, "unset": "not set"}
    number["steady"] = "ramp" not in quantity
    kinds: dict[bool, Callable[[], Kind]] = {
        bool in plain: lambda: Flag(help_),
        float in plain: lambda: Kind(**number),
        bool(words): lambda: Choice(help_, names=words),
        int in plain: lambda: CountOrWord(**number, names=words),
        quantity == "easing": lambda: Choice(help_, names=_EASINGS),
        quantity == "way": lambda: Way(help_),
        quantity.startswith("time"): lambda: Duration(**{**number, "low": 0.0}),
        quantity.startswith("share"): lambda: Share(help_, unset="not set"),
        quantity == "ramp": lambda: Envelope(help_, unset="not set"),
    }
    kinds[True] = kinds.get(True, lambda: Text(help_))  # of several that fit, the last
    return kinds[True]()


def _of(model: type[Table], *names: str) -> dict[str, Spec]:
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    found = {}
    for name in names:
        field = fields[name]
        plain, marks = _marks(field.annotation, field.metadata)
        kind = _kind(field.description or "", plain, marks)
        varies = any("ramp" in m.words for m in marks if isinstance(m, Quantity))
        plainly = float(field.default) if isinstance(field.default, Fraction) else field.default
        found[name] = Spec(name, kind, plainly, varies)
    return found


#: Keys of each table that have a control of their own, in the order in which they are shown.
LAYER = _of(
    LayerTable,
    *("opacity", "blend", "palette_at", "envelope", "over", "times", "then"),
    *("pace", "delay", "clock", "name"),
)
TURNS = _of(
    TurnsTable,
    *("every", "parts", "way", "lit", "first", "order", "fade", "gap", "rounds", "then"),
)
CUE = _of(CueTable, "easing", "even")
SHOW = _of(
    ShowTable,
    *("length", "fps", "tempo", "bar", "cross", "seed", "match_screen", "flashing"),
)
ROUTE = _of(RouteTable, "closed", "gaps")
LIMIT = _of(LimitTable, "mode", "per", "slew", "dither", "between_packets")


def tables(unit: str) -> dict[str, list[facts.Option]]:
    """Return the keys of layers, turns, cues, shows, limits and routes as controls."""
    named = {"layer": LAYER, "turns": TURNS, "cue": CUE, "show": SHOW, "limit": LIMIT}
    named["route"] = ROUTE
    return {name: [option(s, unit) for s in specs.values()] for name, specs in named.items()}


def layer_keys(layer: Layer) -> dict[str, Any]:
    """Return a layer's keys, in SI."""
    passage = layer.passage
    return {
        **{name: getattr(layer, name) for name in LAYER if hasattr(layer, name)},
        "over": passage.over if passage else None,
        "times": passage.times if passage else 0,
        "then": passage.then if passage else "dark",
    }


def turns_values(layer: Layer, unit: str) -> list[facts.Value]:
    """Return how a layer's places take turns; nothing if they don't."""
    if layer.turns is None:
        return []
    return values(TURNS, {name: getattr(layer.turns, name) for name in TURNS}, unit)


def show_values(show: Show, given: Mapping[str, Any], unit: str) -> dict[str, list[facts.Value]]:
    """Return the values of a show's own keys, and of its limit; ``given`` is its table."""
    own: dict[str, Any] = {
        "length": None if show.length is None else float(show.length),
        "fps": show.fps,
        "tempo": 60 / float(show.beat) if show.beat else None,
        "bar": given.get("bar", SHOW["bar"].default),
        "cross": show.cross,
        "seed": show.seed,
        "match_screen": show.match_screen,
        "flashing": show.flashing,
    }
    return {"show": values(SHOW, own, unit), "limit": values(LIMIT, show.limit, unit)}

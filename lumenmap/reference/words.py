"""Words that a show file may hold: effects with their options, ways, blend modes, easings."""

from __future__ import annotations

from lumenmap.motion.easing import NAMES
from lumenmap.motion.options import Corner, Way
from lumenmap.motion.ways import OTHER_WAYS, PLACES, WAYS
from lumenmap.reference.page import KEYS, Section, meaning
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.specs import Spec
from lumenmap.show.model import BLENDS

#: Kinds of option whose words are listed once, at the end.
_BELOW: dict[type, str] = {Way: "a way, see below", Corner: "a place, see below"}


def effect_section(effect: Effect, unit: str) -> Section:
    """Return an effect and its options, lengths in ``unit``."""
    rows = tuple(_option(spec, unit) for spec in effect.options.values())
    words = f" Found by: {', '.join(effect.words)}." if effect.words else ""
    return Section(effect.name, f"{effect.summary}{words}", KEYS, rows)


def way_section() -> Section:
    """Return the ways that an effect may run along."""
    rows = (*WAYS.items(), *OTHER_WAYS.items())
    return Section("Ways", "What an option called `way` takes.", ("way", "runs"), rows)


def corner_section() -> Section:
    """Return the places that any house has."""
    return Section(
        "Places",
        "What an option that takes a corner accepts on any house, besides the corners of its "
        f"masses: {', '.join(PLACES)}. lumenmap map --json lists the edges of yours.",
    )


def blend_section() -> Section:
    """Return the blend modes."""
    return Section(
        "Blend modes",
        "As in W3C Compositing and Blending, on linear light, clamped to 0–1 at the end: "
        f"{', '.join(BLENDS)}.",
    )


def easing_section() -> Section:
    """Return the easings."""
    return Section("Easings", f"As in CSS Easing Functions Level 2: {', '.join(NAMES)}.")


def _option(spec: Spec, unit: str) -> tuple[str, str, str]:
    kind = spec.kind
    default = spec.usual(unit)
    value = _BELOW.get(type(kind)) or kind.expected(unit)
    says = f"{kind.help[:1].upper()}{kind.help[1:]}"
    if kind.gradual and not spec.may_vary:
        says += "; can't change over time"
    return spec.name, value, meaning(says, default)

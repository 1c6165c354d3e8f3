"""Passages: the speed or period at which an effect passes its whole way in a given time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_about
from lumenmap.motion.at import At
from lumenmap.motion.ways import measure
from lumenmap.show.effects.effect import Effect


def timed(
    effect: Effect, over: float, places: At, options: Mapping[str, Any], unit: str
) -> dict[str, float]:
    """Return the option that makes one passage last ``over`` s.

    Parameters
    ----------
    places
        Those that the layer lights; of several edges, the longest is passed in that time.
    unit
        In which lengths are told.

    Raises
    ------
    InputError
        It would be faster or slower than the effect goes.
    """
    name = effect.driven_by
    kind = effect.options[name].kind
    if name == "period":
        if not kind.contains(over):
            raise InputError(f"is {over:g} s; {effect.name} takes {kind.expected()}")
        return {name: over}
    way = options.get("way", f"from {options.get('start')}")
    whole = float(measure(places, way).whole.max(initial=0.0))
    if not kind.contains(whole / over):
        raise InputError(
            f"is {over:g} s for {show_about(whole, unit)}, "
            f"{kind.text(kind.about(whole / over, unit), unit)}; expected {kind.expected(unit)}"
        )
    return {name: whole / over}

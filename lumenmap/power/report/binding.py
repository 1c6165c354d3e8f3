"""What holds a house below full white, in one sentence for people."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lumenmap.house.choices import BudgetKind
from lumenmap.power.report.analysis import full_white
from lumenmap.site import Site

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
#: Budgets within this part of the tightest one bind too.
_NEAR = 1.01
_FULL = 1 - 1e-9


@dataclass(frozen=True, slots=True)
class Binding:
    """How bright the whole house may be white, and what keeps it from more.

    Attributes
    ----------
    level
        0..1 of full white everywhere.
    kind, names
        What binds: supplies, branches or wires, and their names; empty at full white.
    sentence
        The same for people.
    """

    level: float
    kind: BudgetKind | None
    names: tuple[str, ...]
    sentence: str


def binding(site: Site) -> Binding:
    """Return what holds a house below full white."""
    budgets = site.budgets
    gains = budgets.gains(budgets.amps_of(full_white(site.pixels)))[0]
    levels: dict[BudgetKind, float] = {
        kind: float(min(gains[np.array(budgets.kinds) == kind], default=1.0))
        for kind in ("branch", "wire", "supply")
    }
    level = min(levels.values())
    if level > _FULL:
        return Binding(
            1.0, None, (), "Supplies, fuses and wires carry this house at full white everywhere."
        )
    kind = next(k for k, own in levels.items() if own <= level * _NEAR)
    names = tuple(
        dict.fromkeys(
            name
            for name, own, gain in zip(budgets.names, budgets.kinds, gains, strict=True)
            if own == kind and gain <= level * _NEAR
        )
    )
    who, holds = _who(site, kind, names)
    sentence = (
        f"{who} {holds} this house to {_percent(level)} of full white; {_rest(site, levels, kind)}."
    )
    return Binding(level, kind, names, sentence)


def _rest(site: Site, levels: dict[BudgetKind, float], kind: BudgetKind) -> str:
    """Return what the others would allow."""
    if kind == "supply":
        others, who = min(levels["branch"], levels["wire"]), "fuses and wires could carry"
    else:
        others, who = levels["supply"], f"{_supplies(site)} could give"
    if others <= levels[kind] * _NEAR:
        return (
            "nothing else allows more" if kind == "supply" else f"{_supplies(site)} gives no more"
        )
    return f"{who} {_percent(others)}"


def _percent(level: float) -> str:
    return f"{100 * level:.0f} %"


def _supplies(site: Site) -> str:
    return "the supply" if len(site.house.supplies) == 1 else "the supplies"


def _who(site: Site, kind: BudgetKind, names: tuple[str, ...]) -> tuple[str, str]:
    """Return what binds, as the beginning of a sentence, and its verb."""
    one = len(names) == 1
    verb = "holds" if one else "hold"
    if kind == "branch":
        ratings = {f.amps for f in site.wiring.fuses if f.owner in names and f.amps is not None}
        if len(ratings) == 1:
            amps = f"{ratings.pop():g} A"
            if one:
                return f'Your {amps} fuse of "{names[0]}"', verb
            return f"Your {_number(len(names))} {amps} fuses", verb
    what = {"supply": "supply", "branch": "fuse of", "wire": "wire"}[kind]
    if kind == "supply" and one:
        gives = next(s.amps for s in site.house.supplies if s.name == names[0])
        return f'Your supply "{names[0]}" of {gives:g} A', verb
    if one:
        return f'Your {what} "{names[0]}"', verb
    plural = {"supply": "supplies", "branch": "fuses", "wire": "stretches of wire"}[kind]
    return f'Your {_number(len(names))} {plural} (such as "{names[0]}")', verb


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)

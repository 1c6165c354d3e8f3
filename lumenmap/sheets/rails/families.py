"""Families of rails: those whose holes are at the same distances from the datum.

A shorter rail of a family uses the sheet and template of the longest one, and is cut shorter.
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.sheets.rails.rails import Pattern, PlacedRail


@dataclass(frozen=True, slots=True)
class Family:
    """Rails by letter, the longest kind first."""

    kinds: dict[str, tuple[PlacedRail, ...]]

    @property
    def name(self) -> str:
        """Its letters: ``rail A``, ``rails A, B and C``."""
        letters = sorted(self.kinds, key=lambda kind: (len(kind), kind))
        if len(letters) == 1:
            return f"rail {letters[0]}"
        return f"rails {', '.join(letters[:-1])} and {letters[-1]}"

    @property
    def leader(self) -> Pattern:
        """The pattern of its longest rail."""
        return self.pattern(next(iter(self.kinds)))

    def pattern(self, kind: str) -> Pattern:
        """Return the pattern of a letter."""
        return self.kinds[kind][0].pattern


def by_letter(placed: list[PlacedRail]) -> dict[str, list[PlacedRail]]:
    """Group rails by their letter."""
    groups: dict[str, list[PlacedRail]] = {}
    for rail in placed:
        groups.setdefault(rail.kind, []).append(rail)
    return groups


def families(placed: list[PlacedRail]) -> list[Family]:
    """Return the families, in the order the lines reach them."""
    found: dict[object, dict[str, tuple[PlacedRail, ...]]] = {}
    for kind, rails in by_letter(placed).items():
        p = rails[0].pattern
        found.setdefault((p.first, p.spacing), {})[kind] = tuple(rails)
    return [
        Family(dict(sorted(kinds.items(), key=lambda item: -item[1][0].pattern.length)))
        for kinds in found.values()
    ]

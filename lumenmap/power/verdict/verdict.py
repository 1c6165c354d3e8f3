"""`Verdict`: the dangers of a house's wiring, and those that its file accepts with a reason.

Strategy: what hangs on what is found from the house file and the places on its lines, before any
circuit is built, so a house that can't be calculated still gets its verdict. Fuses are compared
with what the circuit has behind them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.power.circuit.places import LinePlaces
from lumenmap.power.circuit.wiring import PowerWiring
from lumenmap.power.verdict.finding import (
    AcceptedFinding,
    DangerError,
    Finding,
    Subject,
    merged,
)
from lumenmap.power.verdict.fusing import fuse_dangers
from lumenmap.power.verdict.joints import joints

#: A supply whose voltage differs by more than this part from the pixels' doesn't fit them: from the
#: tolerance of pixels' data sheets, 4.5 to 5.5 V for 5 V parts [P], rounded up for long runs [C].
VOLTAGE_TOLERANCE = 0.2


class Verdict(NamedTuple):
    """What is dangerous about a house's wiring.

    Attributes
    ----------
    house
        The house file's name.
    dangers
        Those that stand: nothing may be lit.
    accepted
        Those that the house file accepts; every report repeats them.
    unused
        Warnings: what the house file accepts and isn't found.
    solvable
        Whether there is a circuit that can be calculated.
    """

    house: str
    dangers: tuple[Finding, ...] = ()
    accepted: tuple[AcceptedFinding, ...] = ()
    unused: tuple[Finding, ...] = ()
    solvable: bool = True

    def require_solvable(self) -> None:
        """Refuse wiring that no current can be calculated for.

        Raises
        ------
        DangerError
            A sentence for each danger, if they leave no circuit.
        """
        if self.dangers and not self.solvable:
            raise DangerError(self.house, self.dangers)

    def require_safe(self) -> None:
        """Refuse to go on with dangerous wiring.

        Raises
        ------
        DangerError
            A sentence for each danger that isn't accepted.
        """
        if self.dangers:
            raise DangerError(self.house, self.dangers)


def verdict(
    house: House, places: dict[str, LinePlaces], wiring: Callable[[], PowerWiring]
) -> Verdict:
    """Return the verdict on a house's wiring.

    Parameters
    ----------
    wiring
        Builds the circuit; called if what hangs on what allows one.

    Raises
    ------
    InputError
        A position that isn't on its line, or a wire that the ampacity table doesn't have.
    """
    found, solvable = _dangers(house, places, wiring)
    reasons = {(a.finding, a.of): a.reason for a in house.wire_defaults.accept}
    own: dict[str, list[Finding]] = {}
    for f in found:
        own.setdefault(reasons.get(_key(f), ""), []).append(f)
    known = {_key(f) for f in found}
    return Verdict(
        house.file.name,
        tuple(merged(own.pop("", []))),
        tuple(AcceptedFinding(f, reason) for reason in own for f in merged(own[reason])),
        tuple(
            Finding(
                "accept-unused",
                "warning",
                (Subject(of),),
                f'[wiring] accepts "{code}" of "{of}", which isn\'t found.',
                "Delete it from accept, so that it can't hide a danger later.",
            )
            for code, of in reasons
            if (code, of) not in known
        ),
        solvable,
    )


def _key(found: Finding) -> tuple[str, str]:
    """Return how a house file names a danger: it accepts each place by itself."""
    return found.code, found.names[0]


def _dangers(
    house: House, places: dict[str, LinePlaces], wiring: Callable[[], PowerWiring]
) -> tuple[list[Finding], bool]:
    """Return the dangers, and whether there is a circuit."""
    if not house.supplies:
        return [_no_supply(house)], False
    found = [*_volts(house), *joints(house, places)]
    try:
        circuit = wiring()
    except InputError:
        if not any(f.code in ("supplies-joined", "no-feed") for f in found):
            raise
        return found, False
    return [*found, *fuse_dangers(circuit)], True


def _no_supply(house: House) -> Finding:
    return Finding(
        "no-supply",
        "danger",
        (Subject(house.name),),
        "The house has no [[supply]], so the current that a show may draw is unknown.",
        "Write a [[supply]] with its volts and amps, and a [[feed]] for each line.",
    )


def _volts(house: House) -> Iterator[Finding]:
    kind = house.kind
    for supply in house.supplies:
        if abs(supply.volts - kind.volts) > VOLTAGE_TOLERANCE * kind.volts:
            yield Finding(
                "volts-mismatch",
                "danger",
                (Subject(supply.name, "supply"),),
                f"{kind.name} pixels take {kind.volts:g} V, not {supply.volts:g} V.",
                "Use a supply or pixels that match; if yours take another voltage than the kind, "
                "write volts in [pixel].",
            )

"""What the sheets say of power: each fuse against the wire behind it, and all that is amiss."""

from __future__ import annotations

from dataclasses import dataclass, field

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import Feed
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import BLADES, largest_fuse
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.power.report.findings import findings, thinnest_behind
from lumenmap.site import Site


@dataclass(frozen=True, slots=True)
class FuseCheck:
    """A feed's fuse and the wire of least ampacity behind it.

    Attributes
    ----------
    number, feed
        Of the feed, from 1, as the pictures flag it.
    wire, what
        Size of the thinnest wire behind the fuse, and what it is.
    may
        A that it may carry, by the house's ampacity table.
    """

    number: int
    feed: Feed
    wire: str
    what: str
    may: float

    @property
    def protects(self) -> bool:
        """Whether there is a fuse, no bigger than the wire behind it may carry."""
        return self.feed.fuse is not None and self.feed.fuse <= self.may

    @property
    def fuse(self) -> str:
        """The fuse in words, with what is wrong about it."""
        if self.feed.fuse is None:
            return f"NONE: put {self._best()}"
        colour = BLADES.get(self.feed.fuse)
        text = f"{self.feed.fuse:g} A" + (f" ({colour})" if colour else "")
        return text if self.protects else f"{text}: TOO BIG, put {self._best()}"

    @property
    def complaint(self) -> str:
        """What is wrong, in a sentence; empty if nothing is."""
        if self.protects:
            return ""
        fuse = self.feed.fuse
        has = "no fuse to" if fuse is None else f"a fuse of {fuse:g} A, which does not"
        return (
            f'F{self.number}, "{self.feed.name}", has {has} protect {self.what}: {self.wire} '
            f"may carry {self.may:g} A. Put {self._best()} at the supply's end, before you "
            "switch on."
        )

    def _best(self) -> str:
        best = largest_fuse(self.may)
        return f"{best:g} A at most" if best else "thicker wire: no blade fuse is small enough"


@dataclass(frozen=True, slots=True)
class Power:
    """What the sheets say of power.

    Attributes
    ----------
    fusings
        Of each feed, by its name; empty where the wiring can't be worked out.
    warnings
        What ``lumenmap power`` warns of, at full white.
    table
        The ampacity table by which wire is judged.
    """

    fusings: dict[str, FuseCheck] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    table: str = ""

    @property
    def unprotected(self) -> list[FuseCheck]:
        """The feeds whose fuse does not protect what is behind it."""
        return [f for f in self.fusings.values() if not f.protects]


def check_power(site: Site) -> Power:
    """Work out the wiring at full white and judge every fuse.

    A wiring that can't be worked out is a warning: rails can be drilled all the same.
    """
    house = site.house
    table = house.wire_defaults.ampacity
    try:
        white = analyse(site, full_white(site.pixels), "Full white everywhere")
        found = findings(site, white)
        fusings = {}
        for number, feed in enumerate(house.feeds, 1):
            wire, what = thinnest_behind(site, feed)
            fusings[feed.name] = FuseCheck(number, feed, wire.name, what, ampacity(wire, table))
    except InputError as error:
        where = f"{error.key}: " if error.key else ""
        text = f"The wiring can't be judged, nor any fuse: {where}{error.message}"
        return Power({}, (text,), table)
    return Power(fusings, tuple(found), table)

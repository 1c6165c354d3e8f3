"""What the wiring needs: strings, wire, fuses, box, connectors, and what the data needs.

Counting rules without another source are common practice, no source; each says so.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from lumenmap.core.units import LENGTH
from lumenmap.core.wording import listed
from lumenmap.sheets.fuse_check import PowerCheck
from lumenmap.sheets.items import Item
from lumenmap.sheets.wires.data import GATES, SERIES_OHMS, data_leads
from lumenmap.sheets.wires.leads import Lead, cuts, show_fuse
from lumenmap.site import Site

#: Pixels of more volts than this (V) leave the controller without its 5 V [C].
BOARD_VOLTS = 6.0
#: Places that a tube of sealant of 300 ml does [C].
SEALED = 40


def wiring_items(site: Site, power: PowerCheck) -> Iterator[Item]:
    """Yield what to buy for the wiring. Wire counts as pairs: 1 m is 1 m of plus and 1 of minus."""
    yield from _pixels(site)
    yield from _wire(site, power.leads)
    yield from _fuses(site, power)
    yield from _connectors(site, power.leads)
    yield from _data(site)
    yield from _boxes(site, power.leads)


def _pixels(site: Site) -> Iterator[Item]:
    house = site.house
    share, size, kind = house.buying.spare, house.string.pixels, house.kind.name
    if size is None:
        count = len(site.pixels)
        yield Item(f"pixels, {kind}", count, math.ceil(share * count), "", "pixel")
        return
    strings = sum(-(-span.count // size) for span in site.pixels.lines)
    name = f"string of {size} pixels, {kind}, {house.wire_defaults.string}"
    yield Item(name, strings, math.ceil(share * strings), "", "string", size, "pixel")


def _wire(site: Site, leads: tuple[Lead, ...]) -> Iterator[Item]:
    long = "ft" if site.house.unit in ("ft", "in") else "m"
    per = float(LENGTH[long])
    jumpers = sum(run.jumper for layout in site.line_layouts for run in layout.runs)
    if jumpers:
        yield Item("jumper cable (plus, data, minus)", _up(jumpers / per), 0, long, "jumper")
    pairs: dict[str, list[Lead]] = {}
    for lead in leads:
        if lead.kind != "tie":
            pairs.setdefault(lead.wire, []).append(lead)
    for wire, own in pairs.items():
        metres, unknown = sum(x.length for x in own), [x.mark for x in own if not x.length]
        without = f", without {listed(unknown)}: no length given" if unknown else ""
        yield Item(f"pair of {wire}{without}", _up(metres / per), 0, long, wire)
    data = data_leads(site)
    metres = sum(lead.length for lead in data)
    guess = ", assumed" if any(lead.assumed for lead in data) else ""
    if metres:
        name = f"data lead (data twisted with minus){guess}"
        yield Item(name, _up(metres / per), 0, long, "data lead")


def _up(length: float) -> int:
    """Return a length rounded up, but not for what floating point adds."""
    return math.ceil(length - 1e-9)


def _fuses(site: Site, power: PowerCheck) -> Iterator[Item]:
    wrong = {c.lead.mark for c in power.unprotected}
    counts = Counter(
        show_fuse(lead.fuse)
        + (" (TOO LARGE for the wire: see Wires to the line)" if lead.mark in wrong else "")
        for lead in sorted(power.leads, key=lambda lead: lead.fuse or 0.0)
        if lead.fuse is not None
    )
    share = site.house.buying.spare
    for name, count in counts.items():
        yield Item(f"blade fuse, {name}", count, max(1, math.ceil(share * count)), "", "fuse")
    if counts:
        yield Item("fuse holder", sum(counts.values()), 0, "", "holder")


def _connectors(site: Site, leads: tuple[Lead, ...]) -> Iterator[Item]:
    """Yield plugs with tails, and what keeps water out.

    A string brings the connectors at its own ends. Each line takes one plug for its first string,
    each feed, tap and tie one for power where it meets a connector, each jumper two [C].
    """
    lines = len(site.house.lines)
    jumpers = sum(run.jumper > 0 for layout in site.line_layouts for run in layout.runs)
    powers = [lead for lead in leads if lead.joins]
    plugged = 0
    if site.house.string.pixels is not None:
        plugged = sum(lead.place.connector is not None for lead in powers)
        yield Item(
            "three-core plug with tail (start of a line, ends of a jumper)",
            lines + 2 * jumpers,
            1,
            "",
            "plug",
        )
        if plugged:
            yield Item("two-core plug with tail (power at a connector)", plugged, 1, "", "plug 2")
        yield Item("cap for the last connector of a line", lines, 0, "", "blank")
    spliced = len(powers) - plugged + (0 if site.house.string.pixels else lines + 2 * jumpers)
    sealed = spliced + len(cuts(site)) + lines
    if spliced:
        yield Item("splice with glue-lined heat-shrink sleeves", spliced, 1, "", "splice")
    yield Item(
        "sealant, neutral-cure silicone, 300 ml", math.ceil(sealed / SEALED), 0, "", "sealant"
    )


def _data(site: Site) -> Iterator[Item]:
    data = data_leads(site)
    near = sum(not lead.balanced for lead in data)
    outputs = f"{len(data)} output{'s' * (len(data) > 1)}"
    yield Item(f"controller with {outputs} or more", 1, 0, "", "controller")
    if (volts := site.house.kind.volts) > BOARD_VOLTS:
        name = f"{volts:g} V to 5 V converter, fused, for controller and level shifter"
        yield Item(f"{name}, if it has none", 1, 0, "", "converter")
    wires = near * (2 if site.house.kind.wire_bits is not None else 1)
    if near:
        yield Item(
            f"level shifter, 74AHCT125 or 74HCT125 ({GATES} gates)",
            math.ceil(wires / GATES),
            1,
            "",
            "level shifter",
        )
        yield Item(f"resistor, {SERIES_OHMS} ohm, 1/4 W", wires, 1, "", "resistor")
    if bare := sum(lead.repeats and not lead.repeater for lead in data):
        yield Item("pixel that repeats the data, for a long lead", bare, 1, "", "pixel")
    if far := len(data) - near:
        name = "RS-485 line driver and receiver, a pair, for a lead too long for one wire"
        yield Item(name, far, 0, "", "line driver")


def _boxes(site: Site, leads: tuple[Lead, ...]) -> Iterator[Item]:
    """Yield supplies, a box for each, and glands: one for each wire out, one for mains [C]."""
    out = sum(lead.kind in ("feed", "trunk") for lead in leads) + len(site.house.lines)
    for s in site.house.supplies:
        yield Item(f"supply {s.name}, {s.rating}", 1, 0, "", s.name)
    if many := len(site.house.supplies):
        name = "ventilated box for a supply, rated for where it hangs, away from what burns"
        yield Item(name, many, 0, "", "box")
        yield Item("cable gland", out + many, 0, "", "gland")

"""What a wiring's figures mean, in plain words: what is wrong, what to do, what to take care of."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.units import show_length
from lumenmap.house.supplies import Feed
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import (
    BLADES,
    CONTINUOUS,
    HOLDER,
    LIGHTING_OUTPUT_AMPS,
    class_2_amps,
    continuous_load,
    fuse_for,
    largest_fuse,
)
from lumenmap.parts.series import RED_VOLTS, current_fraction, series_resistor
from lumenmap.parts.wires import Wire
from lumenmap.power.report.analysis import Analysis
from lumenmap.site import Site

CAUTIONS = (
    "Put a fuse at the supply end of every wire. A fuse protects the wire, not the pixels; never "
    "fit a larger one because one blew.",
    "Unplug before you touch wiring, and switch off before plugging pixels. Join grounds before "
    "data. Never tie two supplies' positives together.",
    "Leave mains to a licensed electrician. Keep the supply in a dry, ventilated, rated box unless "
    "it is marked for wet places; outdoors use a GFCI or RCD outlet.",
    "Seal every cut end, make drip loops, let the rail drain.",
    "Look up before you lift a rail: keep it and the ladder at least 10 ft from power lines.",
    "Local code and the parts' own data sheets win over anything said here.",
)
#: Pixels from this many volts on have LEDs in series, three of them in the usual 12 V build:
#: common practice, no source.
CHAINED_FROM, CHAIN = 9.0, 3
#: Less sag than this part of the volts is nothing to speak of: common practice, no source.
SAG = 0.97
PARALLEL = (
    "A bus is wire joined to the string at both ends. Codes allow conductors in parallel only in "
    "large sizes, with exceptions (NEC 310.10(G)): show it to your local authority. If one path "
    "breaks, the other carries everything, so the fuse must suit the thinner of the two."
)


def findings(site: Site, white: Analysis) -> list[str]:
    """Return what is wrong or worth knowing, from the figures at full white."""
    return [
        *_volts(site, white),
        *_resistors(site, white),
        *_supplies(site, white),
        *(w for feed in site.wiring.feeds for w in _feed(site, feed, white)),
        *_wires(white),
        *([PARALLEL] if site.house.buses else []),
    ]


def _volts(site: Site, white: Analysis) -> Iterator[str]:
    for line in white.lines:
        if line.short:
            yield (
                f'Line "{line.name}": at full white {line.short} pixels get less than the '
                f"{site.house.kind.min_volts:g} V they need; the lowest has {line.lowest:.2f} V, "
                f"pixel {line.pixel}, {show_length(line.at, site.house.unit)} along. Blue and "
                "green fade before red there, so white turns warm and dim. Feed the line there "
                "too, or use thicker wire."
            )


def _resistors(site: Site, white: Analysis) -> Iterator[str]:
    """Say what sagging volts do to pixels whose current a resistor sets."""
    kind, lowest = site.house.kind, float(white.volts.min())
    if kind.volts < CHAINED_FROM or lowest > SAG * kind.volts:
        return
    ohms = series_resistor(kind.volts, CHAIN, RED_VOLTS, kind.channel_ma[0])
    left = current_fraction(lowest, kind.volts, CHAIN, RED_VOLTS)
    yield (
        f"Pixels for {kind.volts:g} V are reckoned here to hold their current down to "
        f"{kind.min_volts:g} V. Where a resistor sets it instead (for three red LEDs "
        f"{ohms:.0f} ohm), red keeps only {left:.0%} of its light at the lowest {lowest:.2f} V, "
        "and green and blue less: feed such strings closer together. Look inside one, or measure."
    )


def _supplies(site: Site, white: Analysis) -> Iterator[str]:
    kind = site.house.kind
    each = (sum(kind.channel_ma) + kind.idle_ma) / 1000
    for supply in site.house.supplies:
        drawn = white.supplies[supply.name]
        if drawn > supply.amps:
            yield (
                f'Supply "{supply.name}" gives {supply.amps:g} A; full white draws {drawn:.2f} A. '
                "The limiter dims the show's bright moments to what it gives. A controller that "
                "sends anything else to the pixels is not held back."
            )
        limit = class_2_amps(supply.volts)
        if limit is not None and supply.amps > limit:
            count = int(limit / each + 1e-9)
            yield (
                f'Supply "{supply.name}" is above Class 2: a Class 2 source of '
                f"{supply.volts:g} V gives {limit:.3g} A at most, which is {count} of "
                "these pixels at full white, and must be listed as one; a small fuse on a large "
                "supply does not make it so."
            )
        if supply.amps > LIGHTING_OUTPUT_AMPS:
            yield (
                f'Supply "{supply.name}" may give {supply.amps:g} A; low-voltage lighting rules '
                f"(NEC 411) allow each output {LIGHTING_OUTPUT_AMPS:g} A at most, under any load."
            )


def thinnest_behind(site: Site, feed: Feed) -> tuple[Wire, str]:
    """Return the wire of least ampacity that a feed's fuse stands before, and what it is."""
    house, wiring = site.house, site.wiring
    behind = [(wiring.wires["string", feed.line], "the string's own wire")]
    if feed.wire:
        behind.append((wiring.wires["feed", feed.name], "the feed's wire"))
    behind += [
        (wiring.wires["bus", b.name], f'bus "{b.name}"') for b in house.buses if b.line == feed.line
    ]
    return min(behind, key=lambda pair: ampacity(pair[0], house.wire_defaults.ampacity))


def _feed(site: Site, feed: Feed, white: Analysis) -> Iterator[str]:
    name, amps = f'Feed "{feed.name}"', white.feeds[feed.name]
    if not feed.wire:
        yield (
            f'Line "{feed.line}" has no [[feed]]: its lead-in and fuse are unknown, so volts and '
            f'fuse can\'t be judged. It is counted as joined straight to "{feed.supply}".'
        )
        return
    thin, what = thinnest_behind(site, feed)
    may = ampacity(thin, site.house.wire_defaults.ampacity)
    best = largest_fuse(may)
    fits = f"{best:g} A is the largest blade that protects it" if best else "no blade fuse fits it"
    if feed.fuse is None:
        yield (
            f"{name} has no fuse. {what[0].upper()}{what[1:]}, {thin.name}, may carry {may:g} A: "
            f"{fits}. Put it at the supply's end."
        )
        return
    if feed.fuse > may:
        yield (
            f"{name}: a fuse of {feed.fuse:g} A does not protect {what}, {thin.name}, which may "
            f"carry {may:g} A; {fits}."
        )
    if feed.fuse not in BLADES:
        yield f"{name}: {feed.fuse:g} A is no blade rating; blades: {_ratings()}."
    if feed.fuse > HOLDER:
        yield f"{name}: in-line holders are commonly made for {HOLDER:g} A at most."
    if amps > continuous_load(feed.fuse) * (1 + 1e-9):
        wanted = fuse_for(amps)
        yield (
            f"{name}: full white draws {amps:.2f} A, and a {feed.fuse:g} A fuse carries "
            f"{continuous_load(feed.fuse):g} A for hours (the {CONTINUOUS:.0%} rule). The limiter "
            f"holds the show to that; for full white it takes "
            + (f"{wanted:g} A and wire to match." if wanted else "more than one fuse.")
        )


def _ratings() -> str:
    return ", ".join(f"{a:g}" for a in BLADES)


def _wires(white: Analysis) -> Iterator[str]:
    for w in white.wires:
        if w.may is not None and w.amps > w.may:
            yield (
                f'{w.kind.capitalize()} wire of "{w.owner}", {w.size}: full white puts '
                f"{w.amps:.2f} A through it, and it may carry {w.may:g} A. The limiter holds the "
                "show to that; a feed in the middle or thicker wire gives more."
            )

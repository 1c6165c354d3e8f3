"""Findings about the wiring: what is wrong, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.units import show_length
from lumenmap.house.supplies import Feed
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
    "replace a blown fuse with a larger one.",
    "Unplug before you touch wiring, and switch off before you plug or unplug pixels. Connect "
    "grounds before data. Never connect the positives of two supplies.",
    "Leave mains to a licensed electrician. Keep the supply in a dry, ventilated, rated box unless "
    "it is marked for wet places; outdoors use a GFCI or RCD outlet.",
    "Seal every cut end, make drip loops, and let the rail drain.",
    "Look up before you lift a rail: keep it and the ladder at least 10 ft from power lines.",
    "Local code and the data sheets of your parts override anything stated here.",
)
#: Pixels from this voltage (V) on have LEDs in series, three in the usual 12 V type: common
#: practice, no source.
SERIES_FROM, LEDS_IN_SERIES = 9.0, 3
#: A voltage above this part of the nominal one has no visible effect: common practice, no source.
VISIBLE_DROP = 0.97
PARALLEL = (
    "A bus is connected to the string at both ends, so the two are in parallel. Electrical codes "
    "allow that only for large conductors, with exceptions (NEC 310.10(G)): ask your local "
    "authority. If one path breaks, the other carries the whole current, so the fuse must suit the "
    "thinner of the two."
)


def findings(site: Site, white: Analysis) -> list[str]:
    """Return what is wrong or worth knowing, a sentence each, from the figures at full white."""
    return [
        *_voltages(site, white),
        *_resistors(site, white),
        *_supplies(site, white),
        *(w for feed in site.wiring.feeds for w in _feed(site, feed, white)),
        *_wires(white),
        *([PARALLEL] if site.house.buses else []),
    ]


def _voltages(site: Site, white: Analysis) -> Iterator[str]:
    for line in white.lines:
        if line.short:
            yield (
                f'Line "{line.name}": at full white {line.short} pixels get less than the '
                f"{site.house.kind.min_volts:g} V they need; the lowest is {line.lowest:.2f} V at "
                f"pixel {line.pixel}, {show_length(line.at, site.house.unit)} along the line. Blue "
                "and green fade before red, so white turns warm and dim there. Feed the line "
                "there too, or use thicker wire."
            )


def _resistors(site: Site, white: Analysis) -> Iterator[str]:
    """Yield what a voltage drop does to pixels whose current a resistor sets."""
    kind, lowest = site.house.kind, float(white.volts.min())
    if kind.volts < SERIES_FROM or lowest > VISIBLE_DROP * kind.volts:
        return
    ohms = series_resistor(kind.volts, LEDS_IN_SERIES, RED_VOLTS, kind.channel_ma[0])
    left = current_fraction(lowest, kind.volts, LEDS_IN_SERIES, RED_VOLTS)
    yield (
        f"Pixels for {kind.volts:g} V are assumed to keep their current constant down to "
        f"{kind.min_volts:g} V. If a resistor sets it instead ({ohms:.0f} ohm for three red LEDs), "
        f"red keeps only {left:.0%} of its light at the lowest {lowest:.2f} V, and green and blue "
        "keep less: such strings need feeds closer together. Look inside a pixel, or measure."
    )


def _supplies(site: Site, white: Analysis) -> Iterator[str]:
    kind = site.house.kind
    each = (sum(kind.channel_ma) + kind.idle_ma) / 1000
    for supply in site.house.supplies:
        drawn = white.supplies[supply.name]
        if drawn > supply.amps:
            yield (
                f'Supply "{supply.name}" delivers {supply.amps:g} A, but full white draws '
                f"{drawn:.2f} A. The limiter dims the show's bright moments to what the supply "
                "delivers. It has no effect on anything else that a controller sends."
            )
        limit = class_2_amps(supply.volts)
        if limit is not None and supply.amps > limit:
            count = int(limit / each + 1e-9)
            yield (
                f'Supply "{supply.name}" exceeds Class 2: a Class 2 source of {supply.volts:g} V '
                f"delivers at most {limit:.3g} A, enough for {count} of these pixels at full "
                "white, and must be listed as Class 2. A small fuse on a large supply doesn't make "
                "it one."
            )
        if supply.amps > LIGHTING_OUTPUT_AMPS:
            yield (
                f'Supply "{supply.name}" may deliver {supply.amps:g} A; low-voltage lighting rules '
                f"(NEC 411) allow each output at most {LIGHTING_OUTPUT_AMPS:g} A under any load."
            )


def thinnest_behind(site: Site, feed: Feed) -> tuple[Wire, str]:
    """Return the wire of least ampacity behind a feed's fuse, and what it is."""
    wiring = site.wiring
    point = next(f for f in wiring.fuses if (f.kind, f.owner) == ("feed", feed.name))
    kind, owner = wiring.thinnest(wiring.behind(point))
    what = {"string": "the string's own wire", "feed": "the feed's wire"}
    return wiring.wires[kind, owner], what.get(kind, f'{kind} "{owner}"')


def thinnest_amps(site: Site, feed: Feed) -> float:
    """Return the A that the wire of least ampacity behind a feed's fuse may carry."""
    wiring = site.wiring
    point = next(f for f in wiring.fuses if (f.kind, f.owner) == ("feed", feed.name))
    return wiring.may_carry(*wiring.thinnest(wiring.behind(point)))


def _feed(site: Site, feed: Feed, white: Analysis) -> Iterator[str]:
    name, amps = f'Feed "{feed.name}"', white.feeds[feed.name]
    if not feed.wire:
        yield (
            f'Line "{feed.line}" has no [[feed]]: its lead-in and fuse are unknown, so neither '
            f'voltage nor fuse can be checked. It is treated as connected to "{feed.supply}" '
            "without any wire between."
        )
        return
    thin, what = thinnest_behind(site, feed)
    may = thinnest_amps(site, feed)
    best = largest_fuse(may)
    fits = (
        f"{best:g} A is the largest blade fuse that protects it"
        if best
        else "no blade fuse is small enough to protect it"
    )
    if feed.fuse is None:
        yield (
            f"{name} has no fuse. {what[0].upper()}{what[1:]}, {thin.name}, may carry {may:g} A: "
            f"{fits}. Put it at the supply end."
        )
        return
    if feed.fuse > may:
        yield (
            f"{name}: a fuse of {feed.fuse:g} A doesn't protect {what}, {thin.name}, which may "
            f"carry {may:g} A; {fits}."
        )
    if feed.fuse not in BLADES:
        yield f"{name}: {feed.fuse:g} A isn't a rating of blade fuses: {_ratings()}."
    if feed.fuse > HOLDER:
        yield f"{name}: in-line fuse holders are commonly rated for {HOLDER:g} A at most."
    if amps > continuous_load(feed.fuse) * (1 + 1e-9):
        needed = fuse_for(amps)
        yield (
            f"{name}: full white draws {amps:.2f} A, and a {feed.fuse:g} A fuse carries "
            f"{continuous_load(feed.fuse):g} A continuously (the {CONTINUOUS:.0%} rule). The "
            "limiter keeps the show to that; full white takes "
            + (f"{needed:g} A and wire to match." if needed else "more than one fuse.")
        )


def _ratings() -> str:
    return ", ".join(f"{a:g}" for a in BLADES)


def _wires(white: Analysis) -> Iterator[str]:
    for w in white.wires:
        if w.may is not None and w.amps > w.may:
            yield (
                f'{w.kind.capitalize()} wire of "{w.owner}", {w.size}: full white puts '
                f"{w.amps:.2f} A through it, and it may carry {w.may:g} A. The limiter keeps the "
                "show to that; for more light, add a feed in the middle or use thicker wire."
            )

"""Findings about the wiring, from its verdict and its currents: what is wrong, and what to do."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.lengths import show_length
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
from lumenmap.power.report.analysis import Analysis
from lumenmap.power.verdict.finding import Finding
from lumenmap.power.verdict.fusing import feed_point, thinnest_behind
from lumenmap.site import Site

#: Pixels from this voltage (V) on have LEDs in series, three in the usual 12 V type: common
#: practice, no source.
SERIES_FROM, LEDS_IN_SERIES = 9.0, 3
#: A voltage above this part of the nominal one has no visible effect: common practice, no source.
VISIBLE_DROP = 0.97
#: Currents are told to twice this (A): a fuse that carries as much but for this is enough.
TOLD = 0.005
PARALLEL = (
    "A bus is connected to the string at both ends, so the two are in parallel. Electrical codes "
    "allow that only for large conductors, with exceptions (NEC 310.10(G)): ask your local "
    "authority. If one path breaks, the other carries the whole current, so the fuse must suit the "
    "thinner of the two."
)


def findings(site: Site, white: Analysis) -> list[Finding]:
    """Return what is wrong or worth knowing: dangers first, then warnings, then notes.

    Dangers that the house file accepts are left out: they are in `Site.verdict`.
    """
    found = [
        *site.verdict.dangers,
        *site.verdict.unused,
        *_voltages(site, white),
        *_resistors(site, white),
        *_supplies(site, white),
        *(w for feed in site.house.feeds for w in _feed(site, feed, white)),
        *_wires(white),
        *(Finding("parallel-bus", "note", b.name, PARALLEL) for b in site.house.buses[:1]),
    ]
    return sorted(found, key=lambda f: ("danger", "warning", "note").index(f.severity))


def _voltages(site: Site, white: Analysis) -> Iterator[Finding]:
    for line in white.lines:
        if line.short:
            yield Finding(
                "undervoltage",
                "warning",
                line.name,
                f'Line "{line.name}": at full white {line.short} pixels get less than the '
                f"{site.house.kind.min_volts:g} V they need; the lowest is {line.lowest:.2f} V at "
                f"pixel {line.pixel}, {show_length(line.at, site.house.unit)} along the line. Blue "
                "and green fade before red, so white turns warm and dim there.",
                "Feed the line there too, or use thicker wire.",
            )


def _resistors(site: Site, white: Analysis) -> Iterator[Finding]:
    """Yield what a voltage drop does to pixels whose current a resistor sets."""
    kind, lowest = site.house.kind, float(white.volts.min())
    if kind.volts < SERIES_FROM or lowest > VISIBLE_DROP * kind.volts:
        return
    ohms = series_resistor(kind.volts, LEDS_IN_SERIES, RED_VOLTS, kind.channel_ma[0])
    left = current_fraction(lowest, kind.volts, LEDS_IN_SERIES, RED_VOLTS)
    yield Finding(
        "resistor-pixels",
        "note",
        kind.name,
        f"Pixels for {kind.volts:g} V are assumed to keep their current constant down to "
        f"{kind.min_volts:g} V. If a resistor sets it instead ({ohms:.0f} ohm for three red LEDs), "
        f"red keeps only {100 * left:.0f} % of its light at the lowest {lowest:.2f} V, and green "
        "and blue keep less: such strings need feeds closer together.",
        "Look inside a pixel, or measure.",
    )


def _supplies(site: Site, white: Analysis) -> Iterator[Finding]:
    kind = site.house.kind
    each = (sum(kind.channel_ma) + kind.idle_ma) / 1000
    for supply in site.house.supplies:
        drawn, name = white.wanted.supplies[supply.name], f'Supply "{supply.name}"'
        if drawn > supply.amps:
            yield Finding(
                "supply-limits",
                "note",
                supply.name,
                f"{name} delivers {supply.amps:g} A, but full white takes {drawn:.2f} A. The "
                "limiter dims the show's bright moments to what the supply delivers. It has no "
                "effect on anything else that a controller sends.",
            )
        limit = class_2_amps(supply.volts)
        if limit is not None and supply.amps > limit:
            count = int(limit / each + 1e-9)
            yield Finding(
                "class-2",
                "note",
                supply.name,
                f"{name} exceeds Class 2: a Class 2 source of {supply.volts:g} V delivers at most "
                f"{limit:.3g} A, enough for {count} of these pixels at full white, and must be "
                "listed as Class 2. A small fuse on a large supply doesn't make it one.",
            )
        if supply.amps > LIGHTING_OUTPUT_AMPS:
            yield Finding(
                "lighting-output",
                "warning",
                supply.name,
                f"{name} may deliver {supply.amps:g} A; low-voltage lighting rules (NEC 411) allow "
                f"each output at most {LIGHTING_OUTPUT_AMPS:g} A under any load.",
                "Use several smaller supplies or outputs.",
            )


def _feed(site: Site, feed: Feed, white: Analysis) -> Iterator[Finding]:
    """Yield what is to be known of a feed's fuse; whether it protects the wire is the verdict's."""
    if feed.fuse is None:
        return
    name, amps = f'Feed "{feed.name}"', white.wanted.feeds[feed.name]
    thin = thinnest_behind(site.wiring, feed_point(site.wiring, feed.name))
    best = largest_fuse(thin.amps)
    if feed.fuse not in BLADES:
        yield Finding(
            "fuse-rating",
            "warning",
            feed.name,
            f"{name}: {feed.fuse:g} A isn't a rating of blade fuses: {_ratings()}.",
        )
    if feed.fuse > HOLDER:
        yield Finding(
            "fuse-holder",
            "warning",
            feed.name,
            f"{name}: in-line fuse holders are commonly rated for {HOLDER:g} A at most.",
        )
    if amps > continuous_load(feed.fuse) + TOLD:
        yield Finding(
            "fuse-limits",
            "note",
            feed.name,
            f"{name}: full white takes {amps:.2f} A, and a {feed.fuse:g} A fuse carries "
            f"{continuous_load(feed.fuse):g} A continuously (the {100 * CONTINUOUS:.0f} % "
            "rule). The "
            "limiter keeps the show to that.",
            more_light(feed.fuse, amps, best, f"{thin.what}, {thin.size}"),
        )


def more_light(fuse: float, amps: float, best: float | None, thin: str) -> str:
    """Return what a branch needs for so much light: never a fuse that its wire can't take.

    Parameters
    ----------
    fuse, amps
        A: the fuse there is, and the current through it.
    best
        The largest blade fuse (A) that protects the thinnest wire behind; None if none does.
    thin
        That wire, in words.
    """
    needed = fuse_for(amps)
    if needed is not None and best is not None and fuse < needed <= best:
        return f"For more light, a fuse of {needed:g} A still protects {thin}."
    largest = f": {best:g} A is the largest fuse that {thin}, allows" if best else ""
    return f"For more light, add a feed or use thicker wire{largest}."


def _ratings() -> str:
    return ", ".join(f"{a:g}" for a in BLADES)


def _wires(white: Analysis) -> Iterator[Finding]:
    for w in white.wires:
        if w.may is not None and w.amps > w.may:
            yield Finding(
                "wire-limits",
                "note",
                w.owner,
                f'{w.kind.capitalize()} wire of "{w.owner}", {w.size}: full white puts '
                f"{w.amps:.2f} A through it, and it may carry {w.may:g} A. The limiter keeps the "
                "show to that.",
                "For more light, add a feed in the middle or use thicker wire.",
            )

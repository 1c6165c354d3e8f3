"""Findings about the wiring, from its verdict and its currents: what is wrong, and what to do."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.lengths import show_about
from lumenmap.house.supplies import Feed
from lumenmap.parts.fuses import (
    BLADES,
    CONTINUOUS,
    HOLDER,
    LIGHTING_OUTPUT_AMPS,
    class_2_amps,
    continuous_load,
    largest_fuse,
)
from lumenmap.parts.series import RED_VOLTS, current_fraction, series_resistor
from lumenmap.power.report.analysis import Analysis, LineFigures
from lumenmap.power.verdict.finding import Finding, Subject, merged
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
    "a bus is connected to the string at both ends, so the two are in parallel. Electrical codes "
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
        *_wires(site, white),
        *(
            Finding("parallel-bus", "note", (Subject(b.name, "bus"),), PARALLEL)
            for b in site.house.buses
        ),
    ]
    return sorted(merged(found), key=lambda f: ("danger", "warning", "note").index(f.severity))


def _voltages(site: Site, white: Analysis) -> Iterator[Finding]:
    for line in white.lines:
        if line.short:
            yield Finding(
                "undervoltage",
                "warning",
                (Subject(line.name, "line", _low(line, site.house.unit)),),
                f"at full white pixels get less than the {site.house.kind.min_volts:g} V they "
                "need. Blue and green fade before red, so white turns warm and dim there.",
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
        (Subject(kind.name),),
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
        drawn, gives = white.wanted.supplies[supply.name], f"{supply.amps:g} A"
        if drawn > supply.amps:
            yield Finding(
                "supply-limits",
                "note",
                (Subject(supply.name, "supply", f"{gives}; full white takes {drawn:.2f} A"),),
                "the limiter dims the show's bright moments to what the supply delivers. It has "
                "no effect on anything else that a controller sends.",
            )
        limit = class_2_amps(supply.volts)
        if limit is not None and supply.amps > limit:
            count = int(limit / each + 1e-9)
            yield Finding(
                "class-2",
                "note",
                (Subject(supply.name, "supply", gives),),
                f"more than Class 2 allows, {limit:.3g} A at {supply.volts:g} V, enough for "
                f"{count} of these pixels at full white. A Class 2 source is listed as such; a "
                "small fuse on a large supply doesn't make it one.",
            )
        if supply.amps > LIGHTING_OUTPUT_AMPS:
            yield Finding(
                "lighting-output",
                "warning",
                (Subject(supply.name, "supply", gives),),
                "low-voltage lighting rules (NEC 411) allow each output at most "
                f"{LIGHTING_OUTPUT_AMPS:g} A under any load.",
                "Use several smaller supplies or outputs.",
            )


def _feed(site: Site, feed: Feed, white: Analysis) -> Iterator[Finding]:
    """Yield what is to be known of a feed's fuse; whether it protects the wire is the verdict's."""
    if feed.fuse is None:
        return
    amps, fuse = white.wanted.feeds[feed.name], (Subject(feed.name, "feed", f"{feed.fuse:g} A"),)
    thin = thinnest_behind(site.wiring, feed_point(site.wiring, feed.name))
    best = largest_fuse(thin.amps)
    if feed.fuse not in BLADES:
        yield Finding(
            "fuse-rating",
            "warning",
            fuse,
            f"there is no blade fuse of that rating. Ratings: {_ratings()} A.",
        )
    if feed.fuse > HOLDER:
        yield Finding(
            "fuse-holder",
            "warning",
            fuse,
            f"in-line fuse holders are commonly rated for {HOLDER:g} A at most.",
        )
    if amps > continuous_load(feed.fuse) + TOLD:
        yield Finding(
            "fuse-limits",
            "note",
            (Subject(feed.name, "feed", f"{amps:.2f} A"),),
            f"full white takes more than the {continuous_load(feed.fuse):g} A that a fuse of "
            f"{feed.fuse:g} A carries continuously (the {100 * CONTINUOUS:.0f} % rule). The "
            "limiter keeps the show to that.",
            more_light(feed.fuse, best, f"{thin.what}, {thin.size}"),
        )


def more_light(fuse: float, best: float | None, thin: str) -> str:
    """Return what a branch needs for more light: never a fuse that its wire can't take.

    Parameters
    ----------
    fuse
        The fuse there is (A).
    best
        The largest blade fuse (A) that protects the thinnest wire behind; None if none does.
    thin
        That wire, in words.
    """
    if best is not None and fuse < best:
        return (
            f"For more light, a fuse of up to {best:g} A still protects {thin}; beyond that, add "
            "a feed or use thicker wire."
        )
    largest = f": {best:g} A is the largest fuse that {thin}, allows" if best else ""
    return f"For more light, add a feed or use thicker wire{largest}."


def _low(line: LineFigures, unit: str) -> str:
    """Return how many pixels of a line have too few volts, and which has the fewest."""
    many = f"{line.short} pixel{'s' if line.short > 1 else ''}"
    return (
        f"{many}, the lowest {line.lowest:.2f} V at pixel {line.pixel}, "
        f"{show_about(line.at, unit)} along it"
    )


def _ratings() -> str:
    return ", ".join(f"{a:g}" for a in BLADES)


def _wires(site: Site, white: Analysis) -> Iterator[Finding]:
    """Yield wires that full white asks too much of, but those that a fuse of their own holds."""
    fused = {feed.name for feed in site.house.feeds if feed.fuse is not None}
    for w in white.wires:
        own = w.kind == "feed" and w.owner in fused
        if w.may is not None and w.wanted > w.may and not own:
            yield Finding(
                "wire-limits",
                "note",
                (Subject(w.owner, w.kind, f"{w.wanted:.2f} A"),),
                f"full white takes more than the {w.may:g} A that the wire, {w.size}, may carry. "
                "The limiter keeps the show to that.",
                "For more light, add a feed in the middle or use thicker wire.",
            )

"""Laws of circuits that any house must obey, tried on houses that hypothesis makes up.

Outside checks: Kirchhoff's laws; Rayleigh's monotonicity law (a wire made thicker never raises the
power lost, at given currents: Doyle & Snell, "Random walks and electric networks", 1984); and the
maximum principle (no node of a resistor network lies beyond those that it hangs on).
"""

import json
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.drawing.svg import svg
from lumenmap.house.supplies import Bus, Feed, WireDefaults
from lumenmap.parts.fuses import continuous_load
from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.undervoltage import solve_steady_state
from lumenmap.power.feeding.suggest import suggest
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.limit import limit
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.power.report.plots import volts_along
from lumenmap.power.report.report import power_report
from lumenmap.site import Site

#: Thin to thick.
SIZES = ("22 AWG", "20 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG")
#: V: what a solve may be off by, far below what a meter shows.
NOISE = 1e-8
size = st.sampled_from(SIZES[:-1])
feed = st.tuples(
    st.floats(0, 1),
    size,
    st.floats(0.2, 15.0),
    st.sampled_from([None, 2.0, 5.0]),
)
lines = st.lists(
    st.tuples(st.integers(1, 20), st.lists(feed, min_size=1, max_size=3)), min_size=1, max_size=3
)
plans = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["ws2812b", "ws2811-12v", "sk6812-rgbw"]),
        "lines": lines,
        "spacing": st.floats(0.03, 0.4),
        "string": size,
        "contact": st.sampled_from([0.0, 0.02]),
        "celsius": st.floats(-20, 75),
        "bus": st.none() | st.tuples(size, st.floats(0, 0.4), st.floats(0.6, 1), st.floats(0.3, 3)),
        "seed": st.integers(0, 1 << 16),
    }
)


@pytest.fixture(scope="module")
def built(small_map, small_house):
    """Make the house of a plan, on ``supplies`` that take the lines in turn."""

    def build(plan, supplies=1):
        counts = [count for count, _ in plan["lines"]]
        pixelmap = small_map(counts, kind=plan["kind"], spacing=plan["spacing"])
        made = [
            (f"f{i}-{k}", f"s{i % supplies}", span.name, f"{at * span.length!r} m", *rest)
            for i, (span, (_, feeds)) in enumerate(zip(pixelmap.lines, plan["lines"], strict=True))
            for k, (at, *rest) in enumerate(feeds)
        ]
        volts = pixelmap.kind.volts
        house = small_house(pixelmap, [(f"s{i}", volts, 20.0) for i in range(supplies)], made)
        house = replace(
            house,
            wire_defaults=WireDefaults(plan["string"], "planner", plan["celsius"], plan["contact"]),
        )
        if plan["bus"]:
            wire, start, stop, every = plan["bus"]
            long = pixelmap.lines[0].length
            bus = Bus("b", "line-0", wire, f"{start * long!r} m", f"{stop * long!r} m", every)
            house = replace(house, buses=(bus,))
        return house, pixelmap

    return build


def some_codes(plan, pixelmap, frames=2):
    """Frames of anything, the first of them full white."""
    shape = (frames, len(pixelmap), pixelmap.kind.channels)
    codes = np.random.default_rng(plan["seed"]).integers(0, 256, shape, np.uint8)
    codes[0] = 255
    return codes


def full_amps(codes, kind):
    """A (T, N) of pixels that have volts enough."""
    return (codes @ np.array(kind.channel_ma) / 255 + kind.idle_ma) / 1000


def thicker(name):
    return SIZES[SIZES.index(name) + 1]


@given(plan=plans, supplies=st.integers(1, 2))
def test_currents_balance_and_watts_are_accounted_for(plan, supplies, built):
    """Kirchhoff's first law at every node, short of volts or not; power in is power out."""
    house, pixelmap = built(plan, supplies)
    wiring = build_wiring(house, pixelmap)
    net = wiring.network
    codes = some_codes(plan, pixelmap)
    state = solve_steady_state(net, codes, pixelmap.kind)
    flow = net.flow(state.volts, np.arange(len(net.ends)))
    into = np.zeros((len(codes), net.nodes))
    np.subtract.at(into.T, net.ends[:, 0], flow.T)
    np.add.at(into.T, net.ends[:, 1], flow.T)
    np.subtract.at(into.T, net.plus, state.amps.T)
    np.add.at(into.T, net.minus, state.amps.T)
    # Volts of a dozen over wires of a micro-ohm leave this much of an ampere.
    assert np.abs(into).max() < 1e-6
    seen = analyse(Site(house, pixelmap), codes[1:], "")
    lit = float((seen.volts * seen.steady_state.amps[0]).sum())
    assert seen.drawn_watts == pytest.approx(lit + seen.lost_watts, rel=1e-6)
    assert sum(w.lost_watts for w in seen.wires) == pytest.approx(seen.lost_watts)
    assert sum(seen.supplies.values()) == pytest.approx(seen.steady_state.amps.sum(), rel=1e-6)


@given(plan=plans, more=feed, where=st.integers(0, 2))
def test_one_more_feed_or_a_thicker_one_lowers_no_pixels_volts(plan, more, where, built):
    """What joins a line to its own supply only ever lifts it, short of volts or not."""
    house, pixelmap = built(plan | {"contact": 0.0})
    codes = some_codes(plan, pixelmap)
    span = pixelmap.lines[where % len(pixelmap.lines)]
    at, wire, length, fuse = more
    first = house.feeds[where % len(house.feeds)]
    extra = replace(
        first,
        name="more",
        line=span.name,
        at=f"{at * span.length!r} m",
        wire=wire,
        length=length,
        fuse=fuse,
    )
    thick = tuple(replace(f, wire=thicker(f.wire)) if f is first else f for f in house.feeds)
    before = solve_steady_state(
        build_wiring(house, pixelmap).network, codes, pixelmap.kind
    ).at_pixels
    for feeds in ((*house.feeds, extra), thick):
        fed = replace(house, feeds=feeds)
        after = solve_steady_state(
            build_wiring(fed, pixelmap).network, codes, pixelmap.kind
        ).at_pixels
        assert (after - before).min() > -NOISE


@given(plan=plans)
def test_thicker_wire_anywhere_never_loses_more_power(plan, built):
    """Rayleigh's law, at the currents that full codes draw."""
    house, pixelmap = built(plan)
    amps = full_amps(some_codes(plan, pixelmap), pixelmap.kind)

    def lost(home):
        net = build_wiring(home, pixelmap).network
        return ((pixelmap.kind.volts - net.load_volts(amps)) * amps).sum(axis=1)

    before = lost(house)
    string = replace(
        house, wire_defaults=replace(house.wire_defaults, string=thicker(plan["string"]))
    )
    bus = replace(house, buses=tuple(replace(b, wire=thicker(b.wire)) for b in house.buses))
    every = [string, bus] + [
        replace(
            house,
            feeds=tuple(replace(f, wire=thicker(f.wire)) if f is one else f for f in house.feeds),
        )
        for one in house.feeds
    ]
    for home in every:
        assert (lost(home) <= before * (1 + 1e-9) + NOISE).all()


@given(plan=plans)
def test_where_one_feed_serves_each_line_thicker_wire_lowers_no_volts(plan, built):
    """At given currents: short of volts, far pixels that come back to life pull on near ones."""
    single = [(count, feeds[:1]) for count, feeds in plan["lines"]]
    house, pixelmap = built(plan | {"lines": single, "bus": None})
    amps = full_amps(some_codes(plan, pixelmap), pixelmap.kind)
    thick = replace(
        house, wire_defaults=replace(house.wire_defaults, string=thicker(plan["string"]))
    )
    before, after = (build_wiring(h, pixelmap).network.load_volts(amps) for h in (house, thick))
    assert (after - before).min() > -NOISE


def test_between_unlike_feeds_a_thicker_string_may_lower_volts(small_map, small_house):
    """Why the law above stops at one feed: a pixel next to the good feed shares its neighbours' voltage drop."""
    pixelmap = small_map((30,), kind="ws2812b", spacing=0.1)
    house = small_house(
        pixelmap,
        [("s", 5.0, 20.0)],
        [
            ("good", "s", "line-0", "start", "16 AWG", 3.0, None),
            ("poor", "s", "line-0", "end", "20 AWG", 10.0, None),
        ],
    )
    volts = []
    for string in ("22 AWG", "14 AWG"):
        home = replace(
            house, wire_defaults=WireDefaults(string, celsius=20.0, ambient=30.0, conductors=3)
        )
        volts.append(analyse(Site(home, pixelmap), full_white(pixelmap), "").volts)
    assert volts[1][0] < volts[0][0] - 1e-4 and volts[1].min() > volts[0].min() + 0.01


@given(plan=plans, which=st.integers(0, 59), channel=st.integers(0, 2), part=st.floats(0, 1))
def test_a_lower_code_lowers_no_pixels_volts(plan, which, channel, part, built):
    """On one supply each pixel's current pulls on all others, short of volts or not."""
    house, pixelmap = built(plan | {"contact": 0.0})
    net = build_wiring(house, pixelmap).network
    codes = some_codes(plan, pixelmap)
    less = codes.copy()
    one = (slice(None), which % len(pixelmap), channel)
    less[one] = (codes[one] * part).astype(np.uint8)
    before, after = (solve_steady_state(net, c, pixelmap.kind).at_pixels for c in (codes, less))
    assert (after - before).min() > -NOISE
    loads = net.load_volts(full_amps(less, pixelmap.kind))
    assert (loads - net.load_volts(full_amps(codes, pixelmap.kind))).min() > -NOISE


@given(plan=plans, supplies=st.integers(1, 2), stretch=st.floats(1, 12))
def test_short_of_volts_blue_and_green_starve_before_red_all_over_the_house(
    plan, supplies, stretch, built
):
    house, pixelmap = built(plan | {"spacing": plan["spacing"] * stretch}, supplies)
    kind = pixelmap.kind
    state = solve_steady_state(
        build_wiring(house, pixelmap).network, some_codes(plan, pixelmap), kind
    )
    red, others = state.channel_fraction[..., 0], state.channel_fraction[..., 1:]
    assert (others <= red[..., None]).all()
    fading = (red < 1) & (red > 0)
    assert (others[fading] < red[fading][:, None]).all()
    short = state.at_pixels < kind.min_volts
    assert (others[short] < 1).all() and (state.channel_fraction[~short] == 1).all()


@given(plan=plans, supplies=st.integers(1, 2), stretch=st.floats(1, 60))
def test_any_house_is_reported_drawn_and_planned(plan, supplies, stretch, built):
    """Figures are finite, and a suggestion put in the house leaves no pixel short."""
    house, pixelmap = built(plan | {"spacing": plan["spacing"] * stretch}, supplies)
    report = power_report(Site(house, pixelmap))
    advice = suggest(Site(house, pixelmap))
    data = json.dumps([report.report(), advice.report()], allow_nan=False)
    text = "\n".join([*report.lines(), *advice.lines()])
    drawn = svg(volts_along(report))
    ElementTree.fromstring(drawn)
    assert not re.search(r"\b(nan|inf)\b", data + text + drawn)
    for case in report.cases:
        # Nobody pushes current back, and no pixel has more than the supply gives.
        assert (case.volts > 0).all() and (case.volts <= pixelmap.kind.volts + NOISE).all()
    for row in advice.rows:
        if row.chosen is None:
            continue
        feeds = [
            Feed(f"new {k}", row.supply, row.line, f"{f.at!r} m", f.wire, f.length, f.fuse)
            for k, f in enumerate(row.chosen.feeds)
        ]
        others = [f for f in house.feeds if f.line != row.line]
        buses = tuple(b for b in house.buses if b.line != row.line)
        if bus := row.chosen.bus:
            buses += (Bus("new", row.line, bus.wire, "start", "end", bus.every),)
        fed = replace(house, feeds=(*others, *feeds), buses=buses)
        seen = power_report(Site(fed, pixelmap)).white
        assert not next(line for line in seen.lines if line.name == row.line).short


@given(
    plan=plans,
    supplies=st.integers(1, 2),
    stretch=st.floats(1, 30),
    gain=st.floats(0.3, 1),
    amps=st.floats(0.05, 1.5),
)
def test_what_the_limiter_lets_through_no_part_of_any_house_carries_too_much(
    plan, supplies, stretch, gain, amps, built
):
    """By the steady state, which knows nothing of budgets, short of volts or not."""
    house, pixelmap = built(plan | {"spacing": plan["spacing"] * stretch}, supplies)
    house = replace(house, supplies=tuple(replace(s, amps=amps) for s in house.supplies))
    wiring = build_wiring(house, pixelmap)
    try:
        held = budgets(house, pixelmap, wiring)
    except InputError:
        return  # dark pixels alone are too much for something
    light = some_codes(plan, pixelmap).astype(np.float32) / 255 * np.float32(gain)
    codes = limit(light, held).codes
    for frame in codes:
        seen = analyse(Site(house, pixelmap), frame[None], "")
        over = 1e-5  # A: shares count what is nothing to a millionth as nothing
        assert all(a <= amps + over for a in seen.supplies.values())
        for f in house.feeds:
            if f.fuse is not None:
                assert seen.feeds[f.name] <= continuous_load(f.fuse) + over, f
        for w in seen.wires:
            assert w.may is None or w.amps <= w.may + over, w

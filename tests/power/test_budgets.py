"""Budgets: which pixels draw on what, how much it may give, and amps counted exactly."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import Bus, Feed, Supply, WireDefaults
from lumenmap.power.circuit.wiring import POLARITIES
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.parts import PARTS
from lumenmap.site import Site
from tests.power.references.budgets import independent_budgets


def row(held, name, kind):
    found = [k for k in range(len(held)) if (held.names[k], held.kinds[k]) == (name, kind)]
    assert found, (name, kind, held.names)
    return found[0]


def test_limits_are_the_supplys_the_fuses_and_the_wires(two_lines):
    held = budgets(*two_lines)
    assert held.amps[row(held, "garage", "supply")] == 2.5
    assert held.amps[row(held, "a", "branch")] == pytest.approx(0.8 * 2)  # NEC 210.20(A) [P]
    assert held.amps[row(held, "a", "wire")] == 15  # planner, 14 AWG
    assert held.amps[row(held, "b", "wire")] == 8  # 16 AWG
    assert held.amps[row(held, "line-0 string at the start", "wire")] == 6  # 18 AWG


def test_every_pixel_is_carried_once(two_lines):
    held = budgets(*two_lines)
    share = held.share
    assert (share[row(held, "garage", "supply")] == 1).all()
    assert (share[row(held, "b", "branch")] == np.arange(80).__ge__(50)).all()
    both = share[row(held, "a", "branch")] + share[row(held, "c", "branch")]
    # Rounded up to whole parts, so never less than all of it.
    assert (both[:50] >= 1).all() and (both[:50] <= 1 + 2 / PARTS).all()
    assert (np.diff(share[row(held, "a", "branch"), :50]) < 0).all()


def test_shares_of_two_feeds_are_those_of_a_current_divider(two_lines):
    """Pixel k between two feeds: the shares are inverse to the resistances each way [K]."""
    house, pixelmap = two_lines
    held = budgets(house, pixelmap)
    per_m = 2 * 20.95e-3  # 18 AWG, ohm/m of loop: HyperPhysics "Common Wire Gauges" [P]
    lead = {"a": 2 * 8.285e-3 * 4.0, "c": 2 * 8.285e-3 * 7.0}  # 14 AWG
    at = pixelmap.along_line[:50]
    length = pixelmap.lines[0].length
    one, other = lead["a"] + per_m * at, lead["c"] + per_m * (length - at)
    assert held.share[row(held, "a", "branch"), :50] == pytest.approx(
        other / (one + other), abs=4e-4
    )


def test_idle_is_what_dark_pixels_draw(two_lines):
    house, pixelmap = two_lines
    held = budgets(house, pixelmap)
    dark = np.zeros((1, 80, 3), np.uint8)
    assert held.amps_of(dark)[0] == pytest.approx(held.idle)
    assert held.idle[row(held, "garage", "supply")] == pytest.approx(80 * 0.7e-3)


@pytest.mark.parametrize("currents", [(18.5, 18.5, 18.5), (20.0, 18.0, 15.5), (20.0, 20.0, 12.0)])
def test_draw_is_the_plain_sum(two_lines, currents):
    house, pixelmap = two_lines
    pixelmap = replace(pixelmap, kind=replace(pixelmap.kind, channel_ma=currents))
    held = budgets(house, pixelmap)
    codes = np.random.default_rng(5).integers(0, 256, (7, 80, 3), np.uint8)
    each = codes @ (np.array(currents) / 255000) + pixelmap.kind.idle_ma / 1000
    assert held.amps_of(codes) == pytest.approx(each @ held.share.T, rel=1e-12)
    # Split any way it is the same to the last bit.
    assert (
        np.concatenate([held.amps_of(codes[:3]), held.amps_of(codes[3:])]) == held.amps_of(codes)
    ).all()


def test_no_string_carries_more_than_beside_a_join(two_lines):
    """Random frames, the whole network solved: the busiest stretch is one that has a budget."""
    from lumenmap.power.circuit.assembly import build_wiring

    house, pixelmap = two_lines
    house = replace(house, buses=(Bus("b", "line-0", "16 AWG", "0.5 m", "end", 0.9),))
    wiring = build_wiring(house, pixelmap)
    held = budgets(house, pixelmap, wiring)
    codes = np.random.default_rng(5).integers(0, 256, (40, 80, 3), np.uint8)
    codes[:20, 10:45] = 0
    amps = codes @ np.full(3, 18.5 / 255000) + 0.0007
    volts = wiring.network.solve(amps)
    for kind, owner in (("string", "line-0"), ("bus", "b")):
        run = [c.resistor for s in POLARITIES for c in wiring.of(kind, owner, s)]
        most = np.abs(wiring.network.flow(volts, run)).max(axis=1)
        which = [k for k in range(len(held)) if held.names[k].startswith(f"{owner} {kind} at")]
        assert (held.amps_of(codes)[:, which].max(axis=1) >= most - 1e-9).all()


def test_a_line_without_a_feed_hangs_on_the_only_supply(two_lines):
    house, pixelmap = two_lines
    held = budgets(replace(house, feeds=()), pixelmap)
    assert held.names == ("garage",) and (held.share == 1).all()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"supplies": ()}, r"house.toml: has no \[\[supply\]\]"),
        (
            {"supplies": (Supply("garage", 12, 2), Supply("shed", 12, 2)), "feeds": ()},
            'line "line-0": has no feed',
        ),
        (
            {"feeds": (Feed("x", "garage", "line-0", "9 m", "14 AWG", 1, 5),)},
            'feed "x", at: is "9 m", but the line is 3.81 m long',
        ),
        (
            {"feeds": (Feed("x", "garage", "line-0", "nowhere", "14 AWG", 1, 5),)},
            'is "nowhere"; expected start, middle, end, "connector 2", "pixel 80" or a length',
        ),
        (
            {"feeds": (Feed("x", "garage", "line-9", "start", "14 AWG", 1, 5),)},
            'no line "line-9"; did you mean "line-',
        ),
        (
            {"feeds": (Feed("x", "garage", "line-0", "start", "14", 1, 5),)},
            'feed "x", wire: "14" isn.t a wire size',
        ),
        ({"wire_defaults": WireDefaults(ampacity="guess")}, 'no ampacity table "guess"'),
        (
            {"supplies": (Supply("garage", 12, 0.01),)},
            'supply "garage" may carry 0.01 A, but its pixels draw 0.06 A with every light off',
        ),
        (
            {"buses": (Bus("b", "line-0", "14 AWG", "1 m", "1 m", None),)},
            'bus "b": starts and stops at the same position',
        ),
    ],
)
def test_wiring_that_makes_no_sense_is_refused(two_lines, change, says):
    house, pixelmap = two_lines
    with pytest.raises(InputError, match=says):
        budgets(replace(house, **change), pixelmap)


def test_pixels_beyond_a_cut_need_a_feed(two_lines):
    house, pixelmap = two_lines
    line = replace(house.lines[0], cuts=("2 m",))
    feeds = tuple(f for f in house.feeds if f.name != "c")
    with pytest.raises(InputError, match='line "line-0": 24 pixels, from pixel 27'):
        budgets(replace(house, lines=(line, house.lines[1]), feeds=feeds), pixelmap)


def test_positives_of_two_supplies_never_meet(two_lines):
    house, pixelmap = two_lines
    feeds = (*house.feeds[:2], replace(house.feeds[2], supply="shed"))
    two = replace(house, supplies=(*house.supplies, Supply("shed", 12, 2)), feeds=feeds)
    held = budgets(two, pixelmap)  # the positive is cut half-way by itself
    assert set(held.share[row(held, "garage", "supply"), :50].tolist()) == {0.0, 1.0}
    bridged = replace(two, buses=(Bus("b", "line-0", "14 AWG", "start", "end", None),))
    with pytest.raises(InputError, match="never connect two supplies' positives"):
        budgets(bridged, pixelmap)


def agrees(site):
    """Modified nodal analysis by scipy's sparse LU: names, limits and every share in 4096ths."""
    held = site.budgets
    rows = (held.share * PARTS).astype(np.int64)
    found = list(zip(held.names, held.kinds, held.amps.round(9).tolist(), rows, strict=True))
    expected = [(b.name, b.kind, round(b.limit, 9), b.parts) for b in independent_budgets(site)]
    assert len(found) == len(expected) > 0

    def key(row):
        return (*row[:3], row[3].tobytes())

    for one, two in zip(sorted(found, key=key), sorted(expected, key=key), strict=True):
        assert one[:3] == two[:3]
        assert (one[3] == two[3]).all(), one[0]


@pytest.mark.parametrize("name", ["alder-cottage", "kelder-studio", "marlow-bend", "tannery-row"])
def test_budgets_of_the_examples_agree_with_an_independent_calculation(examples, name):
    agrees(Site.read(examples / name / "house.toml"))


@pytest.mark.parametrize("name", ["branches", "four", "supplies", "trunk"])
def test_budgets_of_the_small_houses_agree_with_it_too(homes_of, name):
    agrees(Site(*homes_of(name)))

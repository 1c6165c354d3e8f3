"""Suggested feeds: they hold in the network, and no fewer would do."""

import itertools
import tomllib
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.house.load import load_house
from lumenmap.house.model import Buying
from lumenmap.house.supplies import Feed, Supply, WireDefaults
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import continuous_load
from lumenmap.parts.wires import wire
from lumenmap.pixels.build import map_pixels
from lumenmap.power.feeding.planner import Planner
from lumenmap.power.feeding.suggest import suggest
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.site import Site


def holds(house, pixelmap, line, supply, feeds):
    """Whether a line so fed keeps volts and fuses, by the network solver alone."""
    new = tuple(
        Feed(f"f{k}", supply, line, f"{f.at!r} m", f.wire, f.length, f.fuse)
        for k, f in enumerate(feeds)
    )
    others = tuple(f for f in house.feeds if f.line != line)
    fed = replace(house, feeds=others + new, buses=())
    white = analyse(Site(fed, pixelmap), full_white(pixelmap), "")
    lowest = next(x.lowest for x in white.lines if x.name == line)
    string = ampacity(wire(house.wire_defaults.string))
    return lowest >= pixelmap.kind.min_volts - 1e-4 and all(
        white.feeds[f.name] <= continuous_load(f.fuse) * (1 + 1e-6)
        and f.fuse <= min(string, ampacity(wire(f.wire)))
        for f in new
    )


@pytest.fixture(scope="session", params=["alder-cottage", "kelder-studio", "third"])
def example(request, examples):
    folders = sorted(p.parent for p in examples.glob("*/house.toml"))
    name = (
        request.param
        if request.param != "third"
        else next((f.name for f in folders if f.name not in ("alder-cottage", "kelder-studio")), "")
    )
    if not name:
        pytest.skip("there are two examples only")
    house = load_house(examples / name / "house.toml")
    return house, map_pixels(house)


def test_suggestions_for_the_examples_hold(example):
    house, pixelmap = example
    for row in suggest(Site(house, pixelmap)).rows:
        chosen = row.chosen
        assert chosen is not None, row
        assert holds(house, pixelmap, row.line, row.supply, chosen.feeds)
        assert all(o.why_not for o in row.options[: chosen.count - 1])


def small(make_map, make_house, n, kind, string, length):
    pixelmap = make_map((n,), kind=kind, spacing=length / n)
    volts = pixelmap.kind.volts
    house = make_house(
        pixelmap, [("s", volts, 10.0)], [("f", "s", "line-0", "start", "14 AWG", 1.0, 5.0)]
    )
    return replace(
        house, wire_defaults=WireDefaults(string=string, celsius=20.0, ambient=30.0, conductors=3)
    ), pixelmap


@pytest.mark.parametrize(
    ("n", "kind", "string", "length"),
    # Pixels far apart on thin wire, so that volts ask for several feeds of few pixels.
    [
        (20, "ws2812b", "22 AWG", 12.0),
        (16, "ws2812b", "20 AWG", 30.0),
        (24, "ws2811-5v", "22 AWG", 15.0),
        (14, "ws2811-12v", "22 AWG", 60.0),
        (12, "sk6812-rgbw", "22 AWG", 14.0),
    ],
)
def test_no_fewer_feeds_would_do(n, kind, string, length, small_map, small_house):
    """By brute force: every set of fewer places, with the thickest stock wire, fails."""
    house, pixelmap = small(small_map, small_house, n, kind, string, length)
    house = replace(house, wire_defaults=replace(house.wire_defaults, ampacity="planner"))
    row = suggest(Site(house, pixelmap)).rows[0]
    assert row.chosen is not None and holds(house, pixelmap, "line-0", "s", row.chosen.feeds)
    planner = Planner(Site(house, pixelmap), pixelmap.lines[0])
    thick = planner.stock[-1]
    for fewer in range(1, row.chosen.count):
        for places in itertools.combinations(range(n), fewer):
            assert planner.utilisation(list(places), [thick] * fewer) > 1 - 1e-6


def test_no_wire_of_the_suggestion_could_be_thinner(small_map, small_house):
    house, pixelmap = small(small_map, small_house, 60, "ws2812b", "18 AWG", 4.0)
    row = suggest(Site(house, pixelmap)).rows[0]
    planner = Planner(Site(house, pixelmap), pixelmap.lines[0])
    at = [f.pixel - 1 for f in row.chosen.feeds]
    sizes = [wire(f.wire) for f in row.chosen.feeds]
    assert planner.utilisation(at, sizes) <= 1
    for k, size in enumerate(sizes):
        thinner = [s for s in planner.stock if s.area < size.area]
        for other in thinner:
            assert planner.utilisation(at, [*sizes[:k], other, *sizes[k + 1 :]]) > 1 - 1e-6


def test_the_chain_is_the_network(small_map, small_house):
    """The quick chain and the full network agree on every pixel's volts."""
    from lumenmap.power.feeding.line_model import LineModel

    house, pixelmap = small(small_map, small_house, 40, "ws2811-12v", "18 AWG", 4.0)
    string = 2 * wire("18 AWG").ohms(1)
    chain = LineModel(pixelmap.along_line, string * np.diff(pixelmap.along_line), 0.0562)
    drops, amps = chain.feed(np.array([0, 25]), np.array([0.02, 0.05]))
    size = wire("14 AWG")
    feeds = tuple(
        Feed(
            f"{k}",
            "s",
            "line-0",
            f"{float(pixelmap.along_line[k])!r} m",
            "14 AWG",
            ohms / 2 / size.ohms(1),
            5.0,
        )
        for k, ohms in ((0, 0.02), (25, 0.05))
    )
    fed = replace(house, feeds=feeds)
    white = analyse(Site(fed, pixelmap), full_white(pixelmap), "")
    assert white.volts == pytest.approx(12 - drops, abs=1e-9)
    assert list(white.feeds.values()) == pytest.approx(amps, abs=1e-9)


def test_prices_give_costs_and_options_are_compared(small_map, small_house):
    house, pixelmap = small(small_map, small_house, 120, "ws2812b", "18 AWG", 4.0)
    prices = {
        "20 AWG": 0.2,
        "18 AWG": 0.3,
        "16 AWG": 0.5,
        "14 AWG": 0.8,
        "12 AWG": 1.2,
        "10 AWG": 2,
        "fuse": 3.0,
    }
    house = replace(house, buying=Buying("$", 0.1, prices))
    advice = suggest(Site(house, pixelmap))
    row = advice.rows[0]
    chosen = row.chosen
    expected = sum(2 * prices[f.wire] * f.length + 3 for f in chosen.feeds)
    assert chosen.cost == pytest.approx(expected)
    said = "\n".join(advice.lines())
    assert "suggested:" in said and f"${expected:.2f}" in said and "not enough" in said
    assert "[[feed]]" in said and len(row.options) == chosen.count + 1


def test_what_no_feed_can_do_is_said(small_map, small_house):
    house, pixelmap = small(small_map, small_house, 30, "ws2812b", "18 AWG", 3.0)
    house = replace(house, supplies=(Supply("s", 4.4, 10.0),))
    advice = suggest(Site(house, pixelmap))
    assert advice.rows[0].chosen is None
    assert "not enough" in "\n".join(advice.lines())


def test_what_is_suggested_can_be_put_in_the_house_file_as_it_stands(small_map, small_house):
    house, pixelmap = small(small_map, small_house, 120, "ws2812b", "18 AWG", 4.0)
    advice = suggest(Site(house, pixelmap))
    said = [text.strip() for text in advice.lines()]
    first = said.index("[[feed]]")
    text = "\n".join(x for x in said[first:] if x == "[[feed]]" or " = " in x)
    feeds = tomllib.loads(text)["feed"]
    assert [(f["wire"], f["fuse"]) for f in feeds] == [
        (f.wire, f.fuse) for f in advice.rows[0].chosen.feeds
    ]


@pytest.mark.parametrize("n", [1, 2, 3])
@pytest.mark.parametrize("length", [1.0, 300.0])
def test_lines_of_hardly_any_pixels_are_planned(n, length, small_map, small_house):
    house, pixelmap = small(small_map, small_house, n, "ws2812b", "22 AWG", length)
    row = suggest(Site(house, pixelmap)).rows[0]
    assert holds(house, pixelmap, "line-0", "s", row.chosen.feeds)


def test_volts_that_would_be_below_nothing_are_none(small_map, small_house):
    """The reckoning at full current goes below 0 V; no pixel does."""
    house, pixelmap = small(small_map, small_house, 400, "ws2812b", "22 AWG", 60.0)
    first = Planner(Site(house, pixelmap), pixelmap.lines[0]).option(1)
    assert "the lowest voltage would be 0 V, and pixels need 4.5 V" in first.why_not

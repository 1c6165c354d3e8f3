"""A bus alongside a line, compared with many feeds: it holds in the network, and its figures."""

import tomllib
from dataclasses import replace

import pytest

from lumenmap.house.model import Buying
from lumenmap.house.supplies import Bus, Feed, WireDefaults
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import continuous_load
from lumenmap.parts.wires import wire
from lumenmap.power.feeding import suggest as module
from lumenmap.power.feeding.suggest import suggest
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.site import Site

#: Few pixels far apart on thin string: volts ask for feeds, amps do not.
FAR_APART = [
    (26, "ws2812b", "22 AWG", 60.0),
    (40, "ws2812b", "20 AWG", 60.0),
    (60, "ws2812b", "18 AWG", 50.0),
]


@pytest.fixture(scope="module")
def line(small_map, small_house):
    """A house of one line: pixels, kind, string size, m."""

    def make(n, kind, string, length):
        pixelmap = small_map((n,), kind=kind, spacing=length / n)
        house = small_house(
            pixelmap,
            [("s", pixelmap.kind.volts, 20.0)],
            [("f", "s", "line-0", "start", "14 AWG", 1.0, 5.0)],
        )
        return replace(
            house,
            wire_defaults=WireDefaults(string=string, celsius=20.0, ambient=30.0, conductors=3),
        ), pixelmap

    return make


def white(house, pixelmap, feeds, bus):
    """Full white with these feeds and this bus, by the network solver alone."""
    fed = replace(house, feeds=tuple(feeds), buses=(bus,))
    return analyse(Site(fed, pixelmap), full_white(pixelmap), "")


def as_built(option):
    feeds = [
        Feed(f"f{k}", "s", "line-0", f"{f.at!r} m", f.wire, f.length, f.fuse)
        for k, f in enumerate(option.feeds)
    ]
    return feeds, Bus("b", "line-0", option.bus.wire, "start", "end", option.bus.every)


@pytest.mark.parametrize("made", FAR_APART)
def test_with_a_bus_fewer_feeds_hold_in_the_network(made, line):
    house, pixelmap = line(*made)
    row = suggest(Site(house, pixelmap)).rows[0]
    option = row.options[-1]
    assert row.chosen.count > 2 and not row.chosen.bus
    assert option.bus and not option.why_not and option.count < row.chosen.count
    feeds, bus = as_built(option)
    seen = white(house, pixelmap, feeds, bus)
    assert seen.volts.min() >= pixelmap.kind.min_volts - 1e-4
    assert seen.volts.min() == pytest.approx(option.lowest, abs=1e-9)
    thin = min(ampacity(wire(w)) for w in (house.wire_defaults.string, bus.wire))
    for f in feeds:
        assert seen.feeds[f.name] <= continuous_load(f.fuse) * (1 + 1e-6)
        assert f.fuse <= min(thin, ampacity(wire(f.wire)))
    assert all(w.amps <= w.may for w in seen.wires if w.may is not None)
    # Without the bus the same feeds leave pixels short, so it is the bus that does it.
    bare = replace(house, feeds=tuple(feeds))
    alone = analyse(Site(bare, pixelmap), full_white(pixelmap), "")
    assert alone.volts.min() < pixelmap.kind.min_volts


def test_copper_and_cost_count_the_bus_both_ways(line):
    house, pixelmap = line(*FAR_APART[0])
    prices = {f"{n} AWG": 3.0 / n for n in range(10, 24, 2)} | {"fuse": 2.0}
    house = replace(house, buying=Buying("$", 0.1, prices))
    advice = suggest(Site(house, pixelmap))
    option = advice.rows[0].options[-1]
    runs = [(f.wire, f.length) for f in option.feeds] + [(option.bus.wire, 60.0)]
    # ASTM B258 areas; 8.96 g/cm3, handbook density of copper [M].
    assert option.copper == pytest.approx(sum(2 * wire(w).area * m * 8.96 for w, m in runs))
    cost = sum(2 * prices[w] * m for w, m in runs) + 2.0 * option.count
    assert option.cost == pytest.approx(cost)
    said = "\n".join(advice.lines())
    assert f"also works: 1 feed and a bus alongside, {option.bus.wire} tied every 1.500 m" in said
    assert f"{option.copper:.0f} g copper, ${cost:.2f}" in said and "NEC 310.10(G)" in said
    assert advice.report()[0]["options"][-1]["bus"]["wire"] == option.bus.wire


def test_where_the_fuse_is_the_limit_a_bus_is_said_to_save_nothing(line):
    house, pixelmap = line(150, "ws2811-12v", "18 AWG", 30.0)
    advice = suggest(Site(house, pixelmap))
    row = advice.rows[0]
    assert row.chosen.count == 3 and row.options[-1].bus and row.options[-1].count == 2
    assert (
        "the largest fuse that protects the string and bus carries 4 A" in row.options[-1].why_not
    )
    said = "\n".join(advice.lines())
    assert "2 feeds and a bus alongside, 10 AWG" in said and "310.10(G)" not in said


def test_where_two_feeds_do_no_bus_is_compared(line):
    house, pixelmap = line(100, "ws2812b", "18 AWG", 10.0)
    advice = suggest(Site(house, pixelmap))
    assert advice.rows[0].chosen.count == 2
    assert not any(o.bus for o in advice.rows[0].options) and " bus " not in advice.lines()[-1]


def test_metric_string_gets_a_metric_bus(line):
    house, pixelmap = line(26, "ws2812b", "0.5 mm2", 80.0)
    option = suggest(Site(house, pixelmap)).rows[0].options[-1]
    assert option.bus and "mm2" in option.bus.wire


def test_a_bus_that_is_suggested_can_be_put_in_the_house_file(lumenmap, tmp_path, monkeypatch):
    """What is printed, put where it says, leaves no pixel short."""
    monkeypatch.setattr(module, "MAX_FEEDS", 2)
    bare = """
house = { name = "Long Barn", unit = "m" }
rail = { hole_spacing = "2.4 m" }
pixel = { kind = "ws2812b" }
wiring = { string = "22 AWG", ambient = 20, conductors = 3 }
mass = [{ name = "barn", roof = "gable", width = 8, depth = 60, eave = 2.5, slope = "8/12" }]
line = [{ name = "eave", path = ["barn/eave-left"] }]
supply = [{ name = "box", volts = 5, amps = 20 }]
"""
    file = tmp_path / "house.toml"
    file.write_text(
        bare + '[[feed]]\nsupply = "box"\nto = "eave"\nwire = "14 AWG"\nlength = 1\nfuse = 2\n'
    )
    got = lumenmap("power", file, "--suggest")
    assert "suggested: 1 feed and a bus alongside" in got.out, got
    assert "get less than the 4.5 V" in got.out
    said = [text.strip() for text in got.out.splitlines()]
    text = "\n".join(x for x in said[said.index("[[feed]]") :] if x[:2] == "[[" or " = " in x)
    assert set(tomllib.loads(text)) == {"feed", "bus"}
    file.write_text(f"{bare}{text}\n")
    got = lumenmap("power", file)
    assert got.code == 0 and "get less than" not in got.out and "bus" in got.out

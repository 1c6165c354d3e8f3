"""The fault sweep against a circuit solved another way, and what it must find."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.house.supplies import Feed, StringMake, WireDefaults
from lumenmap.parts.fuses import longest_stand
from lumenmap.power.feeding import faults
from lumenmap.power.feeding.faults import sweep
from lumenmap.site import Site


@pytest.fixture
def line(small_map, small_house):
    """A line of 40 pixels on 18 AWG with feeds at the given places, of so many A."""

    def make(*feeds, cuts=(), string="18 AWG", table="planner"):
        pixelmap = small_map((40,), kind="ws2812b", spacing=0.1)
        rows = [(f"f{k}", "s", "line-0", at, w, 1.0, a) for k, (at, w, a) in enumerate(feeds)]
        house = small_house(pixelmap, [("s", 5.0, 60.0)], rows)
        lines = tuple(replace(x, cuts=cuts) for x in house.lines)
        defaults = WireDefaults(string=string, ampacity=table, celsius=20.0, ambient=30.0)
        return Site(replace(house, lines=lines, wire_defaults=defaults), pixelmap)

    return make


def test_how_long_a_fuse_stands():
    """The ATO curve: 135 % 600 s, 200 % 5 s, 350 % 0.5 s at the most [P2]; below, for ever."""
    stands = [longest_stand(x) for x in (1.0, 1.34, 1.35, 1.99, 2.0, 3.49, 3.5, 50)]
    assert stands == [np.inf, np.inf, 600, 600, 5, 5, 0.5, 0.5]


def test_one_feed_behind_a_fuse_that_suits_is_clear(line):
    found = sweep(line(("start", "14 AWG", 5.0)))
    assert found.worst is None and found.faults > 1000


def test_faults_are_tried_on_both_sides_of_each_connector(line):
    """And at 24 pixels evenly spread."""
    site = line(("start", "14 AWG", 5.0))
    strings = Site(replace(site.house, string=StringMake(pixels=16)), site.pixels)
    even = np.linspace(0, 39, 24).astype(int).tolist()
    assert faults._pixels(strings) == [(0, k) for k in sorted({*even, 15, 16, 31, 32})]


def test_a_fuse_too_large_is_found(line):
    found = sweep(line(("start", "14 AWG", 15.0)))
    assert found.worst is not None and "string wire" in found.worst.wire
    assert found.worst.amps > found.worst.may and "may carry 6 A" in str(found)


def test_several_feeds_side_by_side_are_told_and_a_cut_clears_them(line):
    """Three fuses of 5 A at one end let 20 A through the string, each at 1.35 of its rating."""
    feeds = [(f"pixel {k}", "14 AWG", 5.0) for k in (1, 2, 3)]
    found = sweep(line(*feeds))
    assert found.worst is not None and found.worst.amps > 2 * found.worst.may
    assert "may stand for" in str(found) or "may never blow" in str(found)
    apart = [(f"pixel {k}", "14 AWG", 5.0) for k in (5, 20, 35)]
    cut = sweep(line(*apart, cuts=("after pixel 12", "after pixel 28")))
    assert cut.worst is None


def test_the_amps_are_those_of_a_dense_circuit_with_the_fault_in_it(line, monkeypatch):
    """Every wire, dark, with the fault as one more resistor: Kirchhoff's laws as a matrix."""
    site = line(("start", "14 AWG", 5.0), ("pixel 30", "16 AWG", 3.0))
    network, pixel, ohms = site.wiring.network, 17, 0.2
    monkeypatch.setattr(faults, "OHMS", np.array([ohms]))
    seen = {}
    real = faults._Faults._overload

    def keep(self, at, k, lit, what):
        seen[at, lit] = what
        return real(self, at, k, lit, what)

    monkeypatch.setattr(faults._Faults, "_overload", keep)
    monkeypatch.setattr(faults, "longest_stand", lambda times: times)  # the amps, whatever blows
    rated = faults._Faults(site)
    rated.may = rated.may / 1e3  # so that some wire is over
    rated.rating = rated.rating / 1e6
    list(rated.of([pixel], site.house.kind.idle_ma / 1000, lit=False))
    wire, amps, _ = seen[pixel, False]

    g = np.zeros((network.nodes, network.nodes))
    put = np.zeros(network.nodes)

    def link(a, b, siemens, offset):
        for x, y, sign in ((a, b, -1), (b, a, 1)):
            g[x, x] += siemens
            g[x, y] -= siemens
            put[x] += sign * siemens * offset

    for (a, b), s, off in zip(network.ends, network.siemens, network.offset_volts, strict=True):
        link(a, b, s, off)
    p, m = network.plus, network.minus
    link(p[pixel], m[pixel], 1 / ohms, network.load_offset_volts[pixel])
    idle = site.house.kind.idle_ma / 1000
    np.subtract.at(put, p, idle)
    np.add.at(put, m, idle)
    pin = next(iter(network.pinned))
    g[pin] = 0
    g[pin, pin], put[pin] = 1, 0
    v = np.linalg.solve(g, put)
    through = np.abs(network.flow(v[None], rated.which)[0])
    assert amps == pytest.approx(through[wire], rel=1e-9)
    assert wire == int((through / rated.may).argmax())


def test_no_plan_of_sections_lets_a_fault_burn_on(small_map, small_house):
    """Houses of all sorts: plans whose plus wire is cut clear every fault, or say which not."""
    from lumenmap.power.feeding.choose import make
    from lumenmap.power.feeding.groundwork.ground import Ground
    from lumenmap.power.feeding.judge import Judged

    for count, apart, milliamps in ((30, 0.1, 20.0), (60, 0.05, 30.0), (24, 0.6, 20.0)):
        pixelmap = small_map((count,), kind="ws2812b", spacing=apart, channel_ma=(milliamps,) * 3)
        house = small_house(pixelmap, [("s", 5.0, 30.0)], [])
        house = replace(house, feeds=(Feed("f", "s", "line-0", "start", "14 AWG", 2.0, 3.0),))
        for name in ("sections", "trunk"):
            found = make(name, Ground(Site(house, pixelmap)))
            if isinstance(found, Judged):
                assert found.faults.worst is None, str(found.faults)

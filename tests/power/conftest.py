"""Small houses and pixel maps made in memory for the power tests."""

import itertools
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lumenmap.house.model import House, Line
from lumenmap.house.rails import Rail
from lumenmap.house.reading.load import load_house
from lumenmap.house.supplies import Feed, Supply, WireDefaults
from lumenmap.parts.kinds import pixel_kind
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network


def make_map(counts=(50, 30), *, kind="ws2811-12v", spacing=0.0762, **measured):
    """A pixel map of straight lines: ``counts`` pixels each, half a spacing from each end."""
    row = pixel_kind(kind, **measured)
    n, spans, along, line = sum(counts), [], [], []
    for i, count in enumerate(counts):
        spans.append(
            LineSpan(f"line-{i}", sum(counts[:i]), count, i + 1, row.order, count * spacing)
        )
        along.append((np.arange(count) + 0.5) * spacing)
        line.append(np.full(count, i, np.int32))
    xyz = np.zeros((n, 3))
    xyz[:, 0] = np.concatenate(along)
    return PixelMap(
        xyz,
        np.tile([0.0, -1.0, 0.0], (n, 1)),
        np.concatenate(along),
        np.concatenate(along),
        np.full(n, spacing),
        np.zeros(n, np.int32),
        np.concatenate(line),
        np.ones(n, bool),
        ("edge",),
        tuple(spans),
        row,
        {},
    )


def make_house(pixelmap, supplies, feeds):
    """A house with just the electrical part filled in."""
    half = Fraction(381, 10000)
    return House(
        "Test",
        Path("house.toml"),
        "m",
        None,
        (),
        {},
        {},
        (),
        Rail(Fraction(3), 2 * half, half),
        pixelmap.kind,
        tuple(Line(s.name, (), s.universe, s.order) for s in pixelmap.lines),
        tuple(Supply(*s) for s in supplies),
        tuple(Feed(*f) for f in feeds),
        wire_defaults=WireDefaults(celsius=20.0, ambient=30.0),
    )


@pytest.fixture(scope="session")
def string():
    """Make a network of one line: see `make_string`."""
    return make_string


def make_string(n, loop_ohms, *, feeds=("start",), volts=5.0, first=0.5, lead=0.0, segments=None):
    """n pixels on a pair of conductors of ``loop_ohms`` in all, equally spaced.

    ``first``: the first pixel's place in pitches from the start (the last is as far from the end).
    """
    c = Circuit()
    plus, minus = c.source(volts)
    if lead:
        a, b = c.node(), c.node()
        c.resistor(plus, a, lead / 2)
        c.resistor(b, minus, lead / 2)
        plus, minus = a, b
    pitch = loop_ohms / (segments or n) / 2
    pairs = [(c.node(), c.node()) for _ in range(n)]
    for (p, q), (r, s) in itertools.pairwise(pairs):
        c.resistor(p, r, pitch)
        c.resistor(s, q, pitch)
    for p, q in pairs:
        c.load(p, q)
    for where in feeds:
        p, q = pairs[{"start": 0, "end": -1}.get(where, where)]
        ohms = pitch * first
        c.resistor(plus, p, ohms)
        c.resistor(q, minus, ohms)
    return Network(c)


@pytest.fixture
def two_lines():
    """Two lines of 50 and 30 pixels on one 12 V supply, each behind a fuse of its own."""
    pixelmap = make_map()
    house = make_house(
        pixelmap,
        [("garage", 12.0, 2.5)],
        [
            ("a", "garage", "line-0", "start", "14 AWG", 4.0, 2.0),
            ("b", "garage", "line-1", "start", "16 AWG", 6.0, 1.0),
            ("c", "garage", "line-0", "end", "14 AWG", 7.0, 2.0),
        ],
    )
    return house, pixelmap


@pytest.fixture(scope="session")
def house_texts():
    """Texts of small house files whose budgets are tight in different ways, all invented."""
    folder = Path(__file__).parent / "houses"
    return {file.stem: file.read_text() for file in sorted(folder.glob("*.toml"))}


@pytest.fixture(scope="session")
def small_map():
    """Make a pixel map of straight lines: see `make_map`."""
    return make_map


@pytest.fixture(scope="session")
def small_house():
    """Make a house with just the electrical part: see `make_house`."""
    return make_house


@pytest.fixture
def homes_of(tmp_path, house_texts):
    """Read one of the small houses by name: (house, pixel map)."""

    def read(name):
        file = tmp_path / "house.toml"
        file.write_text(house_texts[name])
        house = load_house(file)
        return house, map_pixels(house)

    return read

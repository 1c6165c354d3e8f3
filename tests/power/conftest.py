"""Small houses and pixel maps made in memory for the power tests."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lumenmap.house.model import Feed, House, Line, Rail, Supply
from lumenmap.parts.kinds import pixel_kind
from lumenmap.pixels.pixelmap import LineSpan, PixelMap


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
        xyz, np.tile([0.0, -1.0, 0.0], (n, 1)), np.concatenate(along), np.concatenate(along),
        np.full(n, spacing), np.zeros(n, np.int32), np.concatenate(line), np.ones(n, bool),
        ("edge",), tuple(spans), row, {},
    )  # fmt: skip


def make_house(pixelmap, supplies, feeds):
    """A house with just the electrical part filled in."""
    half = Fraction(381, 10000)
    return House(
        "Test", Path("house.toml"), "m", None, (), {}, {}, (), Rail(Fraction(3), 2 * half, half),
        pixelmap.kind, tuple(Line(s.name, (), s.universe, s.order) for s in pixelmap.lines),
        tuple(Supply(*s) for s in supplies), tuple(Feed(*f) for f in feeds),
    )  # fmt: skip


@pytest.fixture
def two_lines():
    """Two lines of 50 and 30 pixels on one 12 V supply, each behind a fuse of its own."""
    pixelmap = make_map()
    house = make_house(
        pixelmap, [("garage", 12.0, 2.5)],
        [("a", "garage", "line-0", "start", "14 AWG", 4.0, 2.0),
         ("b", "garage", "line-1", "start", "16 AWG", 6.0, 1.0),
         ("c", "garage", "line-0", "end", "14 AWG", 7.0, 2.0)],
    )  # fmt: skip
    return house, pixelmap

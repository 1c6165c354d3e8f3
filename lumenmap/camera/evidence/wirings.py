"""How a house may be wired: as mapped, or with one thing otherwise, for a camera to be found by."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.site import Site

Ints = NDArray[np.intp]


def wirings(site: Site) -> Iterator[Ints]:
    """Yield (N,) the hole of each pixel: as mapped, then with one thing wired otherwise."""
    pixels = site.pixels
    same = np.arange(len(pixels))
    yield same
    spans = pixels.lines
    for one, two in itertools.combinations(spans, 2):
        other = np.where(np.isin(pixels.line, [spans.index(one), spans.index(two)]), -1, same)
        few = min(one.count, two.count)
        other[one.first : one.first + few] = two.first + np.arange(few)
        other[two.first : two.first + few] = one.first + np.arange(few)
        yield other
    for layout, span in zip(site.line_layouts, spans, strict=True):
        yield _backwards(same, span.slice)
        runs = [slice(span.first + r.first, span.first + r.first + r.count) for r in layout.runs]
        yield from (_backwards(same, run) for run in runs if len(runs) > 1)
        for a, b in itertools.pairwise(runs):
            other = same.copy()
            other[a.start : b.stop] = [*same[b], *same[a.stop : b.start], *same[a]]
            yield other


def _backwards(holes: Ints, part: slice) -> Ints:
    other = holes.copy()
    other[part] = holes[part][::-1]
    return other

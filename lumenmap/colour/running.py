"""Patterns that are drawn into tables, looked up along the house as they run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.palette import Light, Palette

F = NDArray[np.float64]
Turns = NDArray[np.int64]
Index = NDArray[np.intp]
Terms = list[tuple[F, F]]
Tables = list[tuple[slice, Palette]]

#: Places that are worked out at once if the pattern's size changes: what the cache holds.
_AT_ONCE = 16_384
#: Adding 1.5 × 2**52 leaves a double's integer part, rounded to nearest, in its lowest bits.
_ROUND = 6755399441055744.0


def running(
    tables: Iterable[tuple[slice, Palette]],
    place: F | Sequence[tuple[F, float | F]],
    moved: F,
    repeat: float | F = 1.0,
) -> Light:
    """Return the colours at ``place - moved``: a pattern in space that moves in time.

    Whole numbers wrap round by a mask and are subtracted far quicker than places are calculated
    one by one. A pattern whose size changes is calculated by the same steps in the
    same order, so that what stays the same for a while has the same bytes as what never changes.

    Parameters
    ----------
    tables
        Runs of frames, and the cyclic palette of each; together they are all T frames.
    place
        (N,) m, or a sum of such, each times a number or (T, 1).
    moved
        (T, 1) m: how far the pattern has gone.
    repeat
        m from one repeat of the pattern to the next, or (T, 1) if it changes.

    Returns
    -------
    (T, N, 3) float32
        As `Palette.__call__`.
    """
    scale = np.asarray(2.0**32 / repeat)
    parts = [(place, 1.0)] if isinstance(place, np.ndarray) else place
    terms = [(metres, np.asarray(weight * scale)) for metres, weight in parts]
    gone = _turns([(np.mod(moved * scale, 2.0**32), np.ones(()))])
    runs = list(tables)
    still = all(weight.size == 1 for _, weight in terms)
    padded = np.empty((len(moved), len(terms[0][0]), 4), np.float32)
    items = padded.view(np.complex128)[..., 0]
    for here, index in (_still if still else _moving)(terms, gone, _of_one_size(runs)):
        for rows, table in here:
            own = index[rows.start - here[0][0].start : rows.stop - here[0][0].start]
            # "wrap" never acts here; it spares numpy the buffering of its range check.
            np.take(table.items, own, mode="wrap", out=items[rows])
    return padded[..., :3]


def _of_one_size(tables: Tables) -> list[Tables]:
    """Return the tables in groups of those that follow each other and are of one size."""
    return [list(group) for _, group in groupby(tables, key=lambda one: len(one[1].items))]


def _still(terms: Terms, gone: Turns, groups: list[Tables]) -> Iterator[tuple[Tables, Index]]:
    """Return the entries of each group, if the places stay where they are."""
    turns, gone32 = _turns(terms).astype(np.uint32), gone.astype(np.uint32)
    for tables in groups:
        entries = len(tables[0][1].items)
        half = np.uint32(2**31 // entries)  # entries stand for what is nearest to them
        index = (turns + half) - gone32[tables[0][0].start : tables[-1][0].stop]
        index >>= np.uint32(33 - entries.bit_length())
        yield tables, index.astype(np.intp)


def _moving(terms: Terms, gone: Turns, groups: list[Tables]) -> Iterator[tuple[Tables, Index]]:
    """Return them if the places, or the size of the pattern, change with every frame."""
    count = len(terms[0][0])
    for tables in groups:
        entries, first, last = len(tables[0][1].items), tables[0][0].start, tables[-1][0].stop
        index = np.empty((last - first, count), np.int64)
        half = 2**31 // entries
        for some in _pieces(slice(first, last), count):
            out = index[some.start - first : some.stop - first]
            entry = np.add(_turns(_at(terms, some)), half - gone[some], out=out)
            entry >>= 33 - entries.bit_length()
            entry &= entries - 1
        yield tables, index.astype(np.intp, copy=False)


def _at(terms: Terms, rows: slice) -> Terms:
    return [(metres, weight if weight.size == 1 else weight[rows]) for metres, weight in terms]


def _pieces(rows: slice, count: int) -> Iterator[slice]:
    step = max(1, _AT_ONCE // max(1, count))
    return (slice(i, min(i + step, rows.stop)) for i in range(rows.start, rows.stop, step))


def _turns(terms: Terms) -> Turns:
    """Return a sum of turns, given and returned in units of 2**-32; only the lowest 32 bits count.

    The first product is rounded, and each of the others as it is added.
    """
    (metres, weight), *others = terms
    total: F = metres * weight
    total += _ROUND
    for metres, weight in others:
        product = metres * weight
        total = product + total if total.ndim < product.ndim else np.add(total, product, out=total)
    return total.view(np.int64)

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
Found = Iterator[tuple[Tables, Index]]

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
    terms = [(metres, np.asarray(weight)) for metres, weight in parts]
    # Even numbers, so that halves are rounded alike before and after they are subtracted.
    gone = 2 * (_whole(np.mod(moved * scale, 2.0**32) / 2) & (2**32 - 1))
    runs = list(tables)
    still = scale.size == 1 and all(weight.size == 1 for _, weight in terms)
    entries = _still if still else _moving
    padded = np.empty((len(moved), len(terms[0][0]), 4), np.float32)
    items = padded.view(np.complex128)[..., 0]
    for here, index in entries(terms, scale, gone, _of_one_size(runs)):
        for rows, table in here:
            own = index[rows.start - here[0][0].start : rows.stop - here[0][0].start]
            # "wrap" never acts here; it spares numpy the buffering of its range check.
            np.take(table.items, own, mode="wrap", out=items[rows])
    return padded[..., :3]


def _of_one_size(tables: Tables) -> list[Tables]:
    """Return the tables in groups of those that follow each other and are of one size."""
    return [list(group) for _, group in groupby(tables, key=lambda one: len(one[1].items))]


def _still(terms: Terms, scale: F, gone: Turns, groups: list[Tables]) -> Found:
    """Return the entries of each group, if the places stay where they are."""
    turns = _whole(_sum(terms, slice(None)) * scale).astype(np.uint32)
    gone32 = gone.astype(np.uint32)
    for tables in groups:
        entries = len(tables[0][1].items)
        half = np.uint32(2**31 // entries)  # entries stand for what is nearest to them
        index = (turns + half) - gone32[tables[0][0].start : tables[-1][0].stop]
        index >>= np.uint32(33 - entries.bit_length())
        yield tables, index.astype(np.intp)


def _moving(terms: Terms, scale: F, gone: Turns, groups: list[Tables]) -> Found:
    """Return them if the places, or the size of the pattern, change with every frame."""
    if all(weight.size == 1 for _, weight in terms):
        terms = [(_sum(terms, slice(None)), np.ones(()))]
    count = len(terms[0][0])
    step = max(1, _AT_ONCE // max(1, count))
    for tables in groups:
        entries, first, last = len(tables[0][1].items), tables[0][0].start, tables[-1][0].stop
        index = np.empty((last - first, count), np.int64)
        off = _ROUND + (2**31 // entries - gone)
        for start in range(first, last, step):
            rows = slice(start, min(start + step, last))
            turns = _sum(terms, rows) * _of(scale, rows)
            turns += off[rows]  # rounds, and subtracts what is gone
            entry = index[start - first : rows.stop - first]
            np.right_shift(turns.view(np.int64), 33 - entries.bit_length(), out=entry)
            entry &= entries - 1
        yield tables, index.astype(np.intp, copy=False)


def _of(weight: F, rows: slice) -> F:
    return weight if weight.size == 1 else weight[rows]


def _sum(terms: Terms, rows: slice) -> F:
    """Return the places (N,) or (T, N) m, always added up in the same order."""
    (metres, weight), *others = terms
    total = metres * _of(weight, rows) if others or weight.size > 1 or weight != 1 else metres
    for metres, weight in others:
        product = metres * _of(weight, rows)
        # Whichever already has a row for each frame takes the sum.
        total = np.add(total, product, out=total if total.ndim >= product.ndim else product)
    return total


def _whole(turns: F) -> Turns:
    """Return turns, in units of 2**-32, rounded in place; only their lowest 32 bits count."""
    turns += _ROUND
    return turns.view(np.int64)

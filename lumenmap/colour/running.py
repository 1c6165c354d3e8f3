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
#: Metres (N,), and the weight (T, 1) of each or None if they are as they are.
Terms = list[tuple[F, F | None]]
Tables = list[tuple[slice, Palette]]
#: Frames, and the entries of their places.
Found = Iterator[tuple[slice, Index]]

#: Numbers that are worked out at once if the pattern's size changes: what the cache holds.
_AT_ONCE = 131_072
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
    scale = _one(2.0**32 / np.asarray(repeat))
    terms = _settled([(place, 1.0)] if isinstance(place, np.ndarray) else place)
    # Even numbers, so that halves are rounded alike before and after they are subtracted.
    gone = _whole(np.mod(moved * (scale / 2), 2.0**31)) << 1
    count = len(place if isinstance(place, np.ndarray) else place[0][0])
    entries = _moving if scale.size > 1 or terms[-1][1] is not None or terms[1:] else _still
    padded = np.empty((len(moved), count, 4), np.float32)
    items = padded.view(np.complex128)[..., 0]
    runs = list(tables)
    for here in [runs] if len(runs) == 1 else _of_one_size(runs):
        frames = slice(here[0][0].start, here[-1][0].stop)
        number = 0
        for chunk, index in entries(terms, scale, gone, frames, (count, len(here[0][1].items))):
            first, last = chunk.start, chunk.stop
            while number < len(here) and here[number][0].start < last:
                rows, table = here[number]
                start, stop = max(rows.start, first), min(rows.stop, last)
                own = index[start - first : stop - first] if stop - start < last - first else index
                # "wrap" never acts here; it spares numpy the buffering of its range check.
                table.items.take(own, mode="wrap", out=items[start:stop])
                if rows.stop > last:
                    break
                number += 1
    return padded[..., :3]


def _of_one_size(tables: Tables) -> list[Tables]:
    """Return the tables in groups of those that follow each other and are of one size."""
    return [list(group) for _, group in groupby(tables, key=lambda one: len(one[1].items))]


def _one(value: float | F) -> F:
    """Return what is the same for all frames, or for the only one, without axes."""
    found = np.asarray(value)
    return found.reshape(()) if found.size == 1 else found


def _settled(parts: Sequence[tuple[F, float | F]]) -> Terms:
    """Return the terms with what never changes multiplied out, and summed where it comes first."""
    terms: Terms = [
        (metres * _one(weight), None) if np.size(weight) == 1 else (metres, np.asarray(weight))
        for metres, weight in parts
    ]
    while len(terms) > 1 and terms[0][1] is None and terms[1][1] is None:
        terms[:2] = [(terms[0][0] + terms[1][0], None)]
    # Pixels along a straight eave share two coordinates: one product a frame is enough for all.
    return [(m if w is None or (m != m[0]).any() else m[:1], w) for m, w in terms]


def _still(terms: Terms, scale: F, gone: Turns, frames: slice, sizes: tuple[int, int]) -> Found:
    """Yield the entries (T, N) of a pattern of one size, if the places stay where they are.

    ``sizes`` are N, and how many entries the table has.
    """
    _, entries = sizes
    turns = _whole(terms[0][0] * scale).astype(np.uint32)
    turns += np.uint32(2**31 // entries)  # entries stand for what is nearest to them
    index = turns - gone[frames].astype(np.uint32)
    index >>= np.uint32(33 - entries.bit_length())
    yield frames, index.astype(np.intp)


def _moving(terms: Terms, scale: F, gone: Turns, frames: slice, sizes: tuple[int, int]) -> Found:
    """Yield them chunk by chunk if the places, or the size of the pattern, change all the time.

    Every chunk uses the same memory, so that it stays in the processor's cache.
    """
    count, entries = sizes
    # Memory for the sum, and for products if there are any.
    parts = 2 if len(terms) > 1 else 1
    step = min(max(1, _AT_ONCE // max(1, count * parts)), frames.stop - frames.start)
    memory = np.empty((parts, step, count))
    # Without a sign: processors shift several such numbers at once.
    whole = memory.view(np.uint64)[0]
    off = _ROUND + (2**31 // entries - (gone & (2**32 - 1)))
    shift, mask = np.uint64(33 - entries.bit_length()), np.uint64(entries - 1)
    for start in range(frames.start, frames.stop, step):
        rows = slice(start, min(start + step, frames.stop))
        turns, product = memory[0, : rows.stop - start], memory[-1, : rows.stop - start]
        metres = _sum(terms, rows, turns, product)
        np.multiply(metres, scale[rows] if scale.size > 1 else scale, out=turns)
        turns += off[rows]  # rounds, and subtracts what is gone
        index = whole[: rows.stop - start]
        index >>= shift
        index &= mask
        yield rows, index.view(np.int64).astype(np.intp, copy=False)


def _sum(terms: Terms, rows: slice, total: F, product: F) -> F:
    """Return the places of some frames, m; memory (T, N) is given for sum and products."""
    found: F | None = None
    for metres, weight in terms:
        out = None if len(metres) == 1 else total if found is None else product
        each = metres if weight is None else np.multiply(metres, weight[rows], out=out)
        found = each if found is None else np.add(found, each, out=total)
    assert found is not None  # there is at least one term
    return found


def _whole(turns: F) -> Turns:
    """Return turns, in units of 2**-32, rounded in place; only their lowest 32 bits count."""
    turns += _ROUND
    return turns.view(np.int64)

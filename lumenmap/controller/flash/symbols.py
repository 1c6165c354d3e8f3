"""Frames to symbols: runs that a predictor gets right, copies, and literal pixels.

Maximal runs of one label in a frame are the tokens. Everything is done on whole arrays: contexts
depend on nothing that the encoder does not know beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.flash.labels import COPY, KINDS, LITERAL, Labels

#: Lengths and distances: 0 (the rest of the frame), 1..16 as they are, then two classes an octave.
LENGTHS = 43
#: Residuals, folded 0, -1, 1, -2…: 0..15 as they are, then two classes an octave.
RESIDUALS = 26
CONTEXTS = 56

Ints = NDArray[np.int64]

#: The alphabets: kinds; lengths of exact, copy, literal; distances; residuals by context.
A_KIND, A_EXACT, A_COPY, A_LITERAL, A_DISTANCE, A_RESIDUAL = 0, 1, 2, 3, 4, 5


@dataclass(frozen=True, slots=True, eq=False)
class Symbols:
    """A chunk's symbols in the order that a decoder reads them.

    Attributes
    ----------
    frame
        (K,) frame of the chunk.
    table
        (K,) alphabet; residuals of context c have ``A_RESIDUAL + c``.
    symbol, extra, extra_bits
        (K,) the symbol, and the bits that follow it as they are.
    """

    frame: Ints
    table: Ints
    symbol: Ints
    extra: Ints
    extra_bits: Ints


def split_number(value: Ints, direct: int) -> tuple[Ints, Ints, Ints]:
    """Return class, extra bits' value and count of numbers: ``direct`` as they are, then octaves.

    Numbers below ``direct`` are their own class. Above, classes go in pairs of the same size,
    2, 4, 8, 16 … numbers (direct 16: 16-19 in one of 4, so two bits).
    """
    over = np.maximum(value - direct, 0)
    # Pair p covers 2 · (4 · 2^p) numbers; the pairs before it 8 · (2^p - 1).
    pair = np.floor(np.log2(over / 8 + 1)).astype(np.int64)
    bits = pair + 2
    rest = over - 8 * ((1 << pair) - 1)
    half = rest >> bits
    small = value < direct
    return (
        np.where(small, value, direct + 2 * pair + half),
        np.where(small, 0, rest & ((1 << bits) - 1)),
        np.where(small, 0, bits),
    )


#: Residuals are -128 to 127; in a table, those below 0 are found from its end.
_RESIDUAL = np.roll(np.arange(-128, 128), -128)
_SIGN = np.digitize(_RESIDUAL, [-8, -2, 0, 1, 3, 9])
_SIZE = np.digitize(np.abs(_RESIDUAL), [1, 3, 9])
_FOLDED = np.where(_RESIDUAL < 0, -2 * _RESIDUAL - 1, 2 * _RESIDUAL)
_SPLIT = split_number(_FOLDED, 16)


def context(before_: Ints, same: Ints, first: NDArray[np.bool_]) -> Ints:
    """Return the context of residuals.

    Parameters
    ----------
    before_
        The residual decoded just before (of the literal pixel before for a pixel's first channel).
    same
        The residual of the same channel in the literal pixel before.
    first
        Whether this is a pixel's first channel.
    """
    return _SIGN[before_] * 4 + _SIZE[same] + 28 * ~first


def symbols_of(chunk: Labels) -> Symbols:
    """Turn a chunk's labels and residuals into symbols."""
    label, residual = chunk.label, chunk.residual
    frames, pixels, channels = residual.shape
    starts = np.ones((frames, pixels), bool)
    starts[:, 1:] = label[:, 1:] != label[:, :-1]
    at = np.flatnonzero(starts)
    length = np.diff(at, append=frames * pixels)
    mark = label.ravel()[at].astype(np.int64)
    copy = mark > KINDS
    kind = np.where(copy, COPY, mark)
    group = np.where(copy, A_COPY, np.where(kind >= LITERAL, A_LITERAL, A_EXACT))
    rest = (at % pixels) + length == pixels
    length_parts = split_number(np.where(rest, 0, length), 17)
    far = split_number(np.where(copy, mark - KINDS, 0)[copy], 17)
    zeros = np.zeros(len(at), np.int64)
    # Order of reading: pixel, then kind (0), length (1), distance (2), residuals (3…).
    step = 3 + channels
    tokens = [
        (at * step, zeros + A_KIND, kind, zeros, zeros),
        (at * step + 1, group, *length_parts),
        (at[copy] * step + 2, np.full(copy.sum(), A_DISTANCE), *far),
    ]
    parts = [*tokens, *_residual_symbols(label, residual, step)]
    key, table, symbol, extra, bits = (np.concatenate(p) for p in zip(*parts, strict=True))
    order: Ints = np.argsort(key, kind="stable")
    frame = key[order] // (step * pixels)
    return Symbols(frame, table[order], symbol[order], extra[order], bits[order])


def _residual_symbols(
    label: NDArray[np.int16], residual: NDArray[np.int16], step: int
) -> list[tuple[Ints, Ints, Ints, Ints, Ints]]:
    _, pixels, channels = residual.shape
    plain = (label >= LITERAL) & (label < KINDS)
    at = np.flatnonzero(plain)
    values = residual.reshape(-1, channels)[at].astype(np.int64)
    values = (values + 128) % 256 - 128  # codes are modulo 256
    previous = np.zeros_like(values)
    previous[1:] = values[:-1]
    first_of_frame = np.diff(at // pixels, prepend=-1) != 0
    previous[first_of_frame] = 0
    parts = []
    for c in range(channels):
        just = values[:, c - 1] if c else previous[:, channels - 1]
        table = A_RESIDUAL + context(just, previous[:, c], np.full(len(at), c == 0))
        symbol, extra, bits = (part[values[:, c]] for part in _SPLIT)
        parts.append((at * step + 3 + c, table, symbol, extra, bits))
    return parts

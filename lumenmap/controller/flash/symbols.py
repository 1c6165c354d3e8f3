"""Frames to symbols: runs that a predictor gets right, copies, and literal pixels.

Strategy: every pixel of a chunk is given a label (which predictor is exact there, how far back its
copy stands, or which predictor its literal residual is from); maximal runs of one label in a frame
are the tokens. Everything is done on whole arrays: contexts depend on nothing that the encoder
does not know beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.flash.predict import PREDICTORS, Codes, before, predictions

#: Kinds of token: exact by predictor 0..12, copy, literal by predictor 0..12.
COPY = PREDICTORS
LITERAL = PREDICTORS + 1
KINDS = 2 * PREDICTORS + 1
#: Lengths and distances: 0 (the rest of the frame), 1..16 as they are, then two classes an octave.
LENGTHS = 43
#: Residuals, folded 0, -1, 1, -2…: 0..15 as they are, then two classes an octave.
RESIDUALS = 26
CONTEXTS = 56
#: A shorter run is not worth two tokens (measured on six shows).
SHORTEST = 4
#: Distances tried for copies, pixels; and how many of them are kept for a chunk.
FARTHEST, KEPT = 64, 6

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
    sign = np.digitize(before_, [-8, -2, 0, 1, 3, 9])
    size = np.digitize(np.abs(same), [1, 3, 9])
    return sign * 4 + size + 28 * ~first


def chunk_symbols(codes: NDArray[np.uint8], segment: int, block: int) -> Symbols:
    """Turn whole segments of frames into symbols.

    Parameters
    ----------
    codes
        (T, N, C) uint8; T starts at a segment.
    segment
        Frames a segment: the first of each knows no predecessor.
    block
        Pixels over which one predictor is chosen for literals.
    """
    new = codes.astype(np.int16)
    guesses = predictions(new, before(new, segment))
    label, residual = _labels(new, guesses, block)
    return _emit(label, residual)


def _run_lengths(flags: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Return, where flags are set, the length of the run of set flags they are in; else 0."""
    pixels = flags.shape[1]
    at = np.arange(pixels, dtype=np.int32)
    # Of each pixel the last unset place before it and the first one after it.
    before_ = np.maximum.accumulate(np.where(flags, np.int32(-1), at), axis=1)
    after = np.minimum.accumulate(np.where(flags, np.int32(pixels), at)[:, ::-1], axis=1)[:, ::-1]
    out: NDArray[np.int32] = np.where(flags, after - before_ - 1, 0)
    return out


def _any_channel(values: Codes) -> NDArray[np.bool_]:
    """Return (T, N) whether any channel is not 0: numpy is slow along an axis that short."""
    folded = values[:, :, 0].copy()
    for c in range(1, values.shape[2]):
        folded |= values[:, :, c]
    found: NDArray[np.bool_] = folded != 0
    return found


def _labels(
    new: Codes, guesses: list[Codes], block: int
) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Choose each pixel's label: kind, or KINDS + distance for a copy; and its residual."""
    frames, pixels, _ = new.shape
    residual = np.zeros_like(new)
    best = np.zeros((frames, pixels), np.int32)
    label = np.zeros((frames, pixels), np.int16)
    block = min(block, pixels)
    blocks = -(-pixels // block)
    cheapest = np.full((frames, blocks), np.inf)
    literal = np.zeros((frames, blocks), np.int16)
    costs = np.log2(1 + 2 * np.minimum(np.arange(512), 128)).astype(np.float32) + 1
    for number, guess in enumerate(guesses):
        error = new - guess
        exact = ~_any_channel(error)
        # Predictor 0 is what was there: the cheapest token, so it wins a tie and most of a tail.
        _take(best, label, _run_lengths(exact), number)
        cost = sum(costs[np.abs(error[:, :, c])] for c in range(new.shape[2]))
        cost[exact] = 0 if number == 0 else 1
        cost = np.add.reduceat(cost, np.arange(0, pixels, block), axis=1)
        better = cost < cheapest
        cheapest[better], literal[better] = cost[better], number
    colour = new[:, :, 0].astype(np.int64)
    for c in range(1, new.shape[2]):
        colour |= new[:, :, c].astype(np.int64) << (8 * c)
    for distance in _distances(colour, best):
        same = np.zeros((frames, pixels), bool)
        same[:, distance:] = colour[:, distance:] == colour[:, :-distance]
        _take(best, label, _run_lengths(same), KINDS + distance)
    chosen = np.repeat(literal, block, axis=1)[:, :pixels]
    plain = best < SHORTEST
    # The rest of a frame is the cheapest run of all, however short.
    still = ~_any_channel(new - guesses[0])
    tail = np.fliplr(np.logical_and.accumulate(np.fliplr(still), axis=1))
    label[tail], plain[tail] = 0, False
    label[plain] = LITERAL + chosen[plain]
    for number, guess in enumerate(guesses):
        here = label == LITERAL + number
        residual[here] = new[here] - guess[here]
    return label, residual


def _take(
    best: NDArray[np.int32], label: NDArray[np.int16], runs: NDArray[np.int32], number: int
) -> None:
    better = runs > best
    best[better], label[better] = runs[better], number


def _distances(colour: Ints, best: NDArray[np.int32]) -> list[int]:
    """Return the distances at which copies cover most of what no predictor has exactly."""
    open_ = best < 4 * SHORTEST
    if not open_.any():
        return []
    cover = [
        int((open_[:, d:] & (colour[:, d:] == colour[:, :-d])).sum())
        for d in range(2, min(FARTHEST, colour.shape[1] - 1) + 1)
    ]
    most = sorted(range(len(cover)), key=lambda i: -cover[i])[:KEPT]
    return sorted(i + 2 for i in most if cover[i] >= SHORTEST)


def _emit(label: NDArray[np.int16], residual: NDArray[np.int16]) -> Symbols:
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
    folded = np.where(values < 0, -2 * values - 1, 2 * values)
    parts = []
    for c in range(channels):
        just = values[:, c - 1] if c else previous[:, channels - 1]
        table = A_RESIDUAL + context(just, previous[:, c], np.full(len(at), c == 0))
        parts.append((at * step + 3 + c, table, *split_number(folded[:, c], 16)))
    return parts

"""What every pixel of a chunk is told by: a predictor that is exact, a copy, or its residual.

Maximal runs of one label in a frame become the tokens of `symbols`. Everything is done on whole
arrays: what a label rests on is all known before the first symbol is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.flash.predict import PREDICTORS, Codes, before, predictions

#: Kinds of token: exact by predictor 0..12, copy, literal by predictor 0..12.
COPY = PREDICTORS
LITERAL = PREDICTORS + 1
KINDS = 2 * PREDICTORS + 1
#: A shorter run is not worth two tokens (measured on six shows).
SHORTEST = 4
#: Distances tried for copies, pixels; and how many of them are kept for a chunk.
FARTHEST, KEPT = 64, 6

#: By residual, about the bits of a literal; those below 0 are found from the end.
_DEAREST = 512
_COSTS = np.log2(1 + 2 * np.minimum(np.arange(_DEAREST), 128)).astype(np.float32) + 1
_COSTS = np.concatenate([_COSTS, _COSTS[:0:-1]])


@dataclass(frozen=True, slots=True, eq=False)
class Labels:
    """A chunk's labels.

    Attributes
    ----------
    label
        (T, N) kind, or ``KINDS`` + distance for a copy.
    residual
        (T, N, C) what a literal's predictor was off by; 0 elsewhere.
    """

    label: NDArray[np.int16]
    residual: Codes


def labels(codes: NDArray[np.uint8], segment: int, blocks: Sequence[int]) -> list[Labels]:
    """Label the pixels of whole segments, once for each size of block.

    Parameters
    ----------
    codes
        (T, N, C) uint8; T starts at a segment.
    segment
        Frames a segment: the first of each knows no predecessor.
    blocks
        Pixels over which one predictor is chosen for literals.
    """
    new = codes.astype(np.int16)
    frames, pixels, _ = new.shape
    guesses = predictions(new, before(new, segment))
    best = np.zeros((frames, pixels), np.int32)
    label = np.zeros((frames, pixels), np.int16)
    choices = [_Literals(frames, pixels, block) for block in blocks]
    for number, guess in enumerate(guesses):
        error = new - guess
        exact = ~_any_channel(error)
        # Predictor 0 is what was there: the cheapest token, so it wins a tie and most of a tail.
        _take(best, label, _run_lengths(exact), number)
        if number == 0:
            still = exact
        cost = sum(_COSTS[error[:, :, c]] for c in range(new.shape[2]))
        cost[exact] = 0 if number == 0 else 1
        for choice in choices:
            choice.offer(number, cost)
    _take_copies(new, best, label)
    plain = best < SHORTEST
    # The rest of a frame is the cheapest run of all, however short.
    tail = np.logical_and.accumulate(still[:, ::-1], axis=1)[:, ::-1]
    label[tail], plain[tail] = 0, False
    return [_with_literals(new, guesses, label, plain, choice.chosen()) for choice in choices]


class _Literals:
    """The cheapest predictor of each block of pixels."""

    def __init__(self, frames: int, pixels: int, block: int) -> None:
        self.pixels, self.block = pixels, min(block, pixels)
        self.starts = np.arange(0, pixels, self.block)
        self.cheapest = np.full((frames, len(self.starts)), np.inf)
        self.number = np.zeros((frames, len(self.starts)), np.int16)

    def offer(self, number: int, cost: NDArray[np.float32]) -> None:
        """Take a predictor, by its (T, N) costs, where it is cheaper than those before."""
        whole = np.add.reduceat(cost, self.starts, axis=1)
        better = whole < self.cheapest
        self.cheapest[better], self.number[better] = whole[better], number

    def chosen(self) -> NDArray[np.int16]:
        """Return (T, N) the predictor of each pixel."""
        return np.repeat(self.number, self.block, axis=1)[:, : self.pixels]


def _with_literals(
    new: Codes,
    guesses: list[Codes],
    label: NDArray[np.int16],
    plain: NDArray[np.bool_],
    chosen: NDArray[np.int16],
) -> Labels:
    """Label the plain pixels as literals of the chosen predictors."""
    label = np.where(plain, LITERAL + chosen, label)
    residual = np.zeros_like(new)
    for number, guess in enumerate(guesses):
        here = label == LITERAL + number
        residual[here] = new[here] - guess[here]
    return Labels(label, residual)


def _run_lengths(flags: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Return, where flags are set, the length of the run of set flags they are in; else 0."""
    begins = np.ones(flags.shape, bool)
    np.not_equal(flags[:, 1:], flags[:, :-1], out=begins[:, 1:])
    at = np.flatnonzero(begins)
    length = np.diff(at, append=flags.size)
    told = np.where(flags.ravel()[at], length, 0).astype(np.int32)
    return np.repeat(told, length).reshape(flags.shape)


def _any_channel(values: Codes) -> NDArray[np.bool_]:
    """Return (T, N) whether any channel is not 0: numpy is slow along an axis that short."""
    folded = values[:, :, 0].copy()
    for c in range(1, values.shape[2]):
        folded |= values[:, :, c]
    found: NDArray[np.bool_] = folded != 0
    return found


def _take(
    best: NDArray[np.int32], label: NDArray[np.int16], runs: NDArray[np.int32], number: int
) -> None:
    np.copyto(label, np.int16(number), where=runs > best)
    np.maximum(best, runs, out=best)


def _take_copies(new: Codes, best: NDArray[np.int32], label: NDArray[np.int16]) -> None:
    """Label what is better copied from a few pixels before in the same frame."""
    colour = new[:, :, 0].astype(np.uint32)
    for c in range(1, new.shape[2]):
        colour |= new[:, :, c].astype(np.uint32) << np.uint32(8 * c)
    for distance in _distances(colour, best):
        same = np.zeros(best.shape, bool)
        same[:, distance:] = colour[:, distance:] == colour[:, :-distance]
        _take(best, label, _run_lengths(same), KINDS + distance)


def _distances(colour: NDArray[np.uint32], best: NDArray[np.int32]) -> list[int]:
    """Return the distances at which copies cover most of what no predictor has exactly."""
    open_ = best < 4 * SHORTEST
    if not open_.any():
        return []
    cover = [
        int(np.count_nonzero(open_[:, d:] & (colour[:, d:] == colour[:, :-d])))
        for d in range(2, min(FARTHEST, colour.shape[1] - 1) + 1)
    ]
    most = sorted(range(len(cover)), key=lambda i: -cover[i])[:KEPT]
    return sorted(i + 2 for i in most if cover[i] >= SHORTEST)

"""Canonical Huffman codes of at most 15 bits (the construction of RFC 1951, 3.2.2)."""

from __future__ import annotations

import heapq

import numpy as np
from numpy.typing import NDArray

LONGEST = 15

Counts = NDArray[np.int64]


def code_lengths(counts: Counts) -> NDArray[np.uint8]:
    """Return each symbol's code length, 0 for those that don't occur.

    A symbol that is alone still gets one bit, so that every code can be read.
    """
    counts = counts.copy()
    while True:
        lengths = _lengths(counts)
        if lengths.max(initial=0) <= LONGEST:
            return lengths
        counts[counts > 0] = (counts[counts > 0] + 1) // 2  # flatter counts make a flatter tree


def _lengths(counts: Counts) -> NDArray[np.uint8]:
    lengths = np.zeros(len(counts), np.uint8)
    heap = [(int(n), i, [i]) for i, n in enumerate(counts) if n]
    if len(heap) == 1:
        lengths[heap[0][1]] = 1
        return lengths
    heapq.heapify(heap)
    while len(heap) > 1:
        a, b = heapq.heappop(heap), heapq.heappop(heap)
        lengths[a[2] + b[2]] += 1
        heapq.heappush(heap, (a[0] + b[0], a[1], a[2] + b[2]))
    return lengths


def canonical_codes(lengths: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return the codes that go with lengths, shorter first, then by symbol."""
    codes = np.zeros(len(lengths), np.int64)
    code = 0
    for bits in range(1, LONGEST + 1):
        for symbol in np.flatnonzero(lengths == bits):
            codes[symbol] = code
            code += 1
        code <<= 1
    return codes


def merge_tables(counts: Counts, most: int, table_bits: int) -> NDArray[np.int64]:
    """Choose which contexts share a table.

    Parameters
    ----------
    counts
        (contexts, symbols).
    most
        Tables that the decoder has room for.
    table_bits
        What a table costs in the file.

    Returns
    -------
    (contexts,) number of each one's table, from 0.
    """
    groups = [[i] for i in range(len(counts))]
    sums = counts.astype(float)
    costs, together = _bits(sums), _bits(sums[:, None] + sums[None])
    while len(groups) > 1:
        saving = costs[:, None] + costs[None] - together + table_bits
        np.fill_diagonal(saving, -np.inf)
        a, b = divmod(int(saving.argmax()), len(groups))
        if saving[a, b] <= 0 and len(groups) <= most:
            break
        a, b = min(a, b), max(a, b)
        groups[a] += groups.pop(b)
        sums[a] += sums[b]
        costs[a] = _bits(sums[a])
        sums, costs = np.delete(sums, b, 0), np.delete(costs, b)
        together = np.delete(np.delete(together, b, 0), b, 1)
        together[a] = together[:, a] = _bits(sums[a] + sums)
    table = np.zeros(len(counts), np.int64)
    for number, group in enumerate(groups):
        table[group] = number
    return table


def _bits(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the entropy of counts, bits in all, along the last axis."""
    total = counts.sum(axis=-1)
    each = counts * np.log2(np.maximum(counts, 1))
    return np.asarray(total * np.log2(np.maximum(total, 1)) - each.sum(axis=-1))

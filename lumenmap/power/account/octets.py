"""Currents from bytes as the wire carries them, by arithmetic that the limiter has no part in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.regular import open_regular
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.parts import PARTS

F = NDArray[np.float64]

#: Bytes read at once.
_BLOCK = 1 << 20


def blocks(raw: Path, size: int) -> Iterator[bytes]:
    """Yield a file in blocks of whole frames of ``size`` bytes; the last may end in part of one.

    Raises
    ------
    InputError
        It can't be read.
    """
    try:
        with open_regular(raw) as file:
            while data := file.read(max(1, _BLOCK // size) * size):
                yield data
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=raw) from None


def drawn_amps(values: F, weights: list[Any], currents: list[float]) -> F:
    """Return A above idle (T, K) of bytes (T, N·C) in wire order.

    Parameters
    ----------
    weights, currents
        From `weights_of`; the distinct channel currents (mA).
    """
    total = np.zeros((len(values), weights[0].shape[1]))
    for table, current in zip(weights, currents, strict=True):
        total += (values @ table) * (current / 1000 / 255 / PARTS)
    return total


def weights_of(pixelmap: PixelMap, budgets: Budgets, currents: list[float]) -> list[Any]:
    """Return, for each distinct channel current, (N·C, K) whole parts for bytes in wire order."""
    kind = pixelmap.kind
    flows = np.zeros((len(pixelmap), kind.channels))  # the current of each byte's channel
    for span in pixelmap.lines:
        for position, letter in enumerate(span.order):
            flows[span.slice, position] = kind.channel_ma["RGBW".index(letter)]
    return [
        budgets.parts.table(1.0, np.float64, (flows == current).astype(float))
        for current in currents
    ]

"""Garbage collection, which takes longer than a frame, kept away from playing."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Iterator


@contextlib.contextmanager
def no_garbage_collection() -> Iterator[None]:
    """Collect garbage now and not during the block: it takes longer than a frame.

    Playing makes no cycles of objects, so nothing piles up meanwhile.
    """
    enabled = gc.isenabled()
    gc.collect()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()

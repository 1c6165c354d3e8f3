"""Keeping what other people's code prints out of our own output, which programs read."""

from __future__ import annotations

import contextlib
import sys
import threading
from collections.abc import Iterator


@contextlib.contextmanager
def prints_aside() -> Iterator[None]:
    """Send what is printed inside to the error stream, so that JSON on standard output stays whole.

    The stream belongs to all threads, so only the main one is redirected: two that set it back in
    another order than they set it would lose it.
    """
    if threading.current_thread() is threading.main_thread():
        with contextlib.redirect_stdout(sys.stderr):
            yield
    else:
        yield

"""Keeping what other people's code prints out of our own output, which programs read."""

from __future__ import annotations

import sys
import threading
from contextlib import AbstractContextManager, nullcontext, redirect_stdout


def prints_aside() -> AbstractContextManager[object]:
    """Send what is printed inside to the error stream, so that JSON on standard output stays whole.

    The stream belongs to all threads, so only the main one is redirected: two that set it back in
    another order than they set it would lose it.
    """
    # Not a generator: this is entered for each layer of each block, and those cost more.
    if threading.current_thread() is threading.main_thread():
        return redirect_stdout(sys.stderr)
    return nullcontext()

"""`processors`: how many processors work may be spread over."""

from __future__ import annotations

import os
import sys


def processors() -> int:
    """Return the number of processors to use; 1 where forking breaks system libraries."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1

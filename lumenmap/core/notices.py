"""Notices: what went wrong beside the work, told once, while the work goes on."""

from __future__ import annotations

import logging

_LOG = logging.getLogger("lumenmap")
_told: set[str] = set()


def notice(text: str) -> None:
    """Tell something once in this process; without a logging setup, as a line on stderr."""
    if text not in _told:
        _told.add(text)
        _LOG.warning("%s", text)

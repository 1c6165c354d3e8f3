"""Colours for a new palette, from a photograph or from one colour and a harmony."""

from __future__ import annotations

from pathlib import Path

from lumenmap.colour.making.harmony import harmony
from lumenmap.colour.making.photo import from_photo
from lumenmap.core.errors import InputError


def make(photo: Path | None, base: str, name: str, count: int, *, lift: bool = True) -> list[str]:
    """Return CSS colours from a ``photo``, or from the ``base`` colour and the harmony's ``name``.

    With ``lift`` those of a harmony are as bright as LEDs can show them.

    Raises
    ------
    InputError
        Neither or both are given, or can't be used.
    """
    if (photo is None) == (not base):
        raise InputError("expected either a picture (--photo) or a colour (--base)")
    return harmony(base, name, lift=lift) if photo is None else from_photo(photo, count)

"""Colours for a new palette, from a photograph or from one colour and a harmony."""

from __future__ import annotations

from pathlib import Path

from lumenmap.colour.making.harmony import harmony
from lumenmap.colour.making.photo import from_photo
from lumenmap.core.errors import InputError

#: What is made of a colour, and how many colours are taken from a photograph, unless that is said.
HARMONY, COUNT = "neighbours", 5


def make(
    photo: Path | None, base: str, name: str = "", count: int | None = None, *, lift: bool = True
) -> list[str]:
    """Return CSS colours from a ``photo``, or from the ``base`` colour and the harmony's ``name``.

    With ``lift`` those of a harmony are as bright as LEDs can show them.

    Raises
    ------
    InputError
        Neither or both are given, or can't be used; what is for the other.
    """
    if (photo is None) == (not base):
        raise InputError("expected either a picture (--photo) or a colour (--base)")
    if photo is None:
        if count is not None:
            raise InputError("applies to a photograph; a harmony has its own number", key="count")
        return harmony(base, name or HARMONY, lift=lift)
    for key, given in (("harmony", bool(name)), ("keep_dim", not lift)):
        if given:
            raise InputError("applies to a colour, --base, not to a photograph", key=key)
    return from_photo(photo, count or COUNT)

"""What a value is called and how it is written, carried by its type for the reference pages."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """A mark in ``Annotated[…]`` of a type that a person's file may hold; it checks nothing.

    Attributes
    ----------
    words
        What the value is: ``length``.
    like
        How it is written: examples, and what a bare number means.
    """

    words: str
    like: str = ""

"""A quantity of a person's file: what it is called, how it is written, and how it is read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema


class Quantity:
    """A mark in ``Annotated[…]`` of a type that a person's file may hold.

    A mark with a reader is all that pydantic needs to know of the value. The library's own marks
    have it make a check of the type too, once for every key that has it: together that took a
    tenth of a second whenever a command began.

    Parameters
    ----------
    words
        What the value is: ``length``.
    like
        How it is written: examples, and what a bare number means.
    read
        Returns the value of what is in the file, given with pydantic's information on it. Without
        one, the mark checks nothing.
    written
        The type of what a file may have, for its JSON Schema; text or a number if left out.
    """

    def __init__(
        self,
        words: str,
        like: str = "",
        read: Callable[[Any, core_schema.ValidationInfo[Any]], Any] | None = None,
        written: Any = None,
    ) -> None:
        self.words = words
        self.like = like
        self._read = read
        self._written = written

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        if self._read is None:
            return handler(source)
        if self._written is None:
            written: CoreSchema = core_schema.union_schema(
                [core_schema.str_schema(), core_schema.float_schema()]
            )
        else:
            written = handler.generate_schema(self._written)
        return core_schema.with_info_plain_validator_function(
            self._read, json_schema_input_schema=written
        )

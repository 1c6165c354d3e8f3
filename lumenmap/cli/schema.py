"""lumenmap schema: the JSON Schema of a file."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer


class File(StrEnum):
    """The files that have a schema."""

    HOUSE = "house"
    SHOW = "show"
    ALMANAC = "almanac"


def schema(
    file: Annotated[File, typer.Argument(help="The kind of file.")],
) -> None:
    """Print the JSON Schema of a house, show or almanac file, for editors that check TOML.

    Example: lumenmap schema show > show.schema.json
    """
    if file is File.HOUSE:
        from lumenmap.house.reading.file import HouseFile

        content = HouseFile.model_json_schema()
    elif file is File.ALMANAC:
        from lumenmap.almanac.file import AlmanacFile

        content = AlmanacFile.model_json_schema()
    else:
        from lumenmap.show.schema import show_schema

        content = show_schema()
    print(json.dumps(content, indent=2))

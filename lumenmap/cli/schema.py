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


def schema(
    file: Annotated[File, typer.Argument(help="Which file.")],
) -> None:
    """Print the JSON Schema of a house or show file, for an editor that completes and checks.

    Example: lumenmap schema show > show.schema.json
    """
    if file is File.HOUSE:
        from lumenmap.house.file import HouseFile

        content = HouseFile.model_json_schema()
    else:
        from lumenmap.show.schema import show_schema

        content = show_schema()
    print(json.dumps(content, indent=2))

"""A file of marks: a photograph, its house, and where named points are on it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import Field

from lumenmap.core.names import Title
from lumenmap.core.toml.tables import Table
from lumenmap.house.reading.fields import Name

#: A place on a photograph: pixels from its left and upper edge.
Place = Annotated[
    tuple[
        Annotated[float, Field(ge=-20_000, le=40_000, strict=False)],
        Annotated[float, Field(ge=-20_000, le=40_000, strict=False)],
    ],
    Field(strict=False),
]


class PhotoTable(Table):
    """``[photo]``: the photograph and its house."""

    file: str = Field(description="The photograph, in the same folder: JPEG, PNG or WebP.")
    house: str = Field("house.toml", description="The house file, in the same folder.")
    lens: float | None = Field(
        None,
        ge=8,
        le=800,
        description="Focal length in mm on full frame, if the photograph's file doesn't say it.",
    )


class TraceTable(Table):
    """``[[trace]]``: a line drawn on the photograph, to become an edge of the house."""

    name: Name = Field(description="The edge's name.")
    on: str = Field(
        description="The wall or roof plane that it lies on: main/wall-front, main/roof-left."
    )
    points: list[Place] = Field(
        min_length=2, max_length=200, description="The line, point by point, in pixels."
    )


class MarksFile(Table):
    """A file of marks."""

    photo: PhotoTable
    mark: dict[Title, Place] = Field(
        default_factory=dict,
        description="By the point's name: how far right and how far down it is on the photograph, "
        "in pixels. lumenmap marks lists the names.",
    )
    trace: list[TraceTable] = Field(default_factory=list)


def starter(photo: str, house: Path, names: list[str], *, explained: bool = True) -> str:
    """Return the text of a file of marks to fill in, with names to begin with."""
    how = [
        "# How far right and how far down each point is on the photograph, in pixels, as a picture",
        "# viewer shows them. Mark five or more, better eight, far apart: left and right, high and",
        "# low, near and far. Take the # off the lines that you fill in.",
    ]
    lines = [
        *(how if explained else []),
        "[photo]",
        f'file = "{photo}"',
        f'house = "{house.name}"',
        "",
        "[mark]",
        *(f'# "{name}" = [0, 0]' for name in names),
    ]
    return "\n".join(lines) + "\n"

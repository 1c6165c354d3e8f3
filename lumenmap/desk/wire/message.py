"""What all messages of a browser are made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

FileName = Annotated[str, Field(min_length=1, max_length=120)]
Id = Annotated[int, Field(ge=0, lt=2**53, description="The browser's own number for it.")]
Label = Annotated[str, Field(max_length=80)]


class Message(BaseModel):
    """Base of what a browser sends: unknown keys are errors, nothing is converted."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

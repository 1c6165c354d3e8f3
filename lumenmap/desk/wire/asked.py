"""What a browser asks: every message to the server.

A message that changes something has an ``id`` of the browser's own choosing; it is answered by
`Accepted` or `Refused` with that id.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, JsonValue, TypeAdapter

from lumenmap.desk.wire.days import AskDays, LookDays, SetDays
from lumenmap.desk.wire.facts import Rights
from lumenmap.desk.wire.hours import SetHours
from lumenmap.desk.wire.message import FileName, Id, Label, Message

#: The most edits in one message.
MOST_EDITS = 200

Path = Annotated[list[Annotated[str, Field(max_length=120)] | int], Field(max_length=12)]


class SetValue(Message):
    """Give the value at a path; ``old`` null adds the key, ``new`` null takes it away."""

    op: Literal["set"] = "set"
    path: Path
    old: JsonValue = Field(description="What the browser saw there; null if nothing.")
    new: JsonValue


class Insert(Message):
    """Put an item into a list, where the last number of the path says: ``cue``, 0, ``layer``, 2."""

    op: Literal["insert"] = "insert"
    path: Path
    new: JsonValue


class Remove(Message):
    """Take an item out of a list."""

    op: Literal["remove"] = "remove"
    path: Path
    old: JsonValue


class Move(Message):
    """Move an item of a list to where ``to`` is; its comments go with it."""

    op: Literal["move"] = "move"
    path: Path
    to: int = Field(ge=0)


Edit = Annotated[SetValue | Insert | Remove | Move, Field(discriminator="op")]


class Open(Message):
    """Look at a show file from now on: answered by `Show`, `Findings` and stretches."""

    type: Literal["open"] = "open"
    file: FileName


class Look(Message):
    """Where the playhead is; stretches come from there on. Send it on a jump and once a second."""

    type: Literal["look"] = "look"
    file: FileName
    frame: int = Field(ge=0)
    playing: bool


class MakeEdits(Message):
    """Change a file: all of the edits, or none. Those of one ``gesture`` are undone together."""

    type: Literal["edit"] = "edit"
    id: Id
    file: FileName
    version: int = Field(ge=0, description="Of the `Show` (or `Document`) that the browser saw.")
    edits: list[Edit] = Field(min_length=1, max_length=MOST_EDITS)
    label: Label = Field("", description="What undo would take back: Speed of chase.")
    gesture: Label = Field("", description="One word for all edits of one drag; empty: alone.")


class Undo(Message):
    """Take back the last change of a file, whoever made it; `redo` makes it again."""

    type: Literal["undo"] = "undo"
    id: Id
    file: FileName


class Redo(Message):
    """Make again what `undo` took back."""

    type: Literal["redo"] = "redo"
    id: Id
    file: FileName


class Restore(Message):
    """Have a file as it was when the desk was opened; can be undone."""

    type: Literal["restore"] = "restore"
    id: Id
    file: FileName


class NewShow(Message):
    """Make a show file, from nothing or as a copy; `Shows` then lists it, `Accepted` names it."""

    type: Literal["new_show"] = "new_show"
    id: Id
    title: Annotated[str, Field(min_length=1, max_length=80)]
    copy_of: FileName | None = None


class RemoveShow(Message):
    """Take a show off the list; `Accepted` names the file that it is kept in."""

    type: Literal["remove_show"] = "remove_show"
    id: Id
    file: FileName


class PutBack(Message):
    """Have a show back that was removed since the desk was opened; `Accepted` names it."""

    type: Literal["put_back"] = "put_back"
    id: Id
    file: FileName


class Choose(Message):
    """Tonight's show."""

    type: Literal["choose"] = "choose"
    id: Id
    file: FileName
    until: Annotated[str, Field(max_length=40)] | None = None


class Brightness(Message):
    """How bright tonight is, 0..1 of the shows' own brightness."""

    type: Literal["brightness"] = "brightness"
    id: Id
    level: float = Field(gt=0, le=1)


class Dark(Message):
    """Nothing plays tonight; or, with false, what the rules say."""

    type: Literal["dark"] = "dark"
    id: Id
    dark: bool


class UndoEvening(Message):
    """Take back the last change of the evening."""

    type: Literal["undo_evening"] = "undo_evening"
    id: Id
    undoes: str = Field(
        "", max_length=4000, description="What the person read that it takes back; empty: any."
    )


class LightHouse(Message):
    """Send what is under the hand to the controllers too, until let go or the browser is gone."""

    type: Literal["light"] = "light"
    id: Id
    on: bool
    file: FileName | None = None


class AllowFlashing(Message):
    """The person at this browser was told what the flash check found and wants to see it."""

    type: Literal["allow_flashing"] = "allow_flashing"
    file: FileName
    allow: bool


class CheckPalette(Message):
    """Ask what these LEDs make of colours, before they are in a file."""

    type: Literal["check_palette"] = "check_palette"
    id: Id
    stops: list[JsonValue] = Field(min_length=1, max_length=64)
    space: Literal["oklab", "oklch"] = "oklab"
    hue: Literal["shorter", "longer", "increasing", "decreasing"] = "shorter"
    cyclic: bool = True
    steps: bool = False


class Invite(Message):
    """Ask for an address and a code that pair another device once, within ten minutes."""

    type: Literal["invite"] = "invite"
    id: Id
    rights: Rights


class FindControllers(Message):
    """Ask a home network that the person names which controllers it has."""

    type: Literal["find"] = "find"
    id: Id
    network: Annotated[str, Field(min_length=1, max_length=40)]


ClientMessage = Annotated[
    Open
    | Look
    | MakeEdits
    | Undo
    | Redo
    | Restore
    | NewShow
    | RemoveShow
    | PutBack
    | Choose
    | Brightness
    | Dark
    | UndoEvening
    | LookDays
    | AskDays
    | SetDays
    | SetHours
    | LightHouse
    | AllowFlashing
    | CheckPalette
    | Invite
    | FindControllers,
    Field(discriminator="type"),
]
CLIENT: TypeAdapter[ClientMessage] = TypeAdapter(ClientMessage)

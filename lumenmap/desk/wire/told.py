"""What the server tells: every message to a browser.

Each replaces what the page knew of that thing; nothing is told in parts.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, JsonValue, TypeAdapter

from lumenmap.desk.wire import evening_facts, facts
from lumenmap.desk.wire.days import Days, DaysAnswer
from lumenmap.desk.wire.facts import Fact


class Session(Fact):
    """The first message on a socket, and again when the house or the effects change."""

    type: Literal["session"] = "session"
    version: int = Field(description="Of these messages: load the page again if it is another.")
    folder: str
    rights: facts.Rights
    local: bool = Field(description="Whether this browser is on the machine of the desk.")
    house: facts.House | None = Field(description="Null if there is none that can be read.")
    effects: list[facts.Effect]
    palettes: list[facts.Palette] = Field(description="Those of the package.")
    blends: list[str]
    easings: list[str]
    ways: dict[str, str] = Field(description="Name to description, for options of kind way.")
    watch: str = Field(description="The only show of the page that follows saves; empty here.")
    tables: dict[str, list[facts.Option]] = Field(
        description="Keys of the tables layer, turns, cue, show, limit and route, as controls."
    )
    routes: list[str] = Field(description="Of the house, for the way along one of them.")
    networks: list[str] = Field(description="Home networks that this machine is on.")
    corners: list[str] = Field(description="Places of any house, then its own corners.")


class Shows(Fact):
    """The shows of the folder."""

    type: Literal["shows"] = "shows"
    shows: list[facts.ShowRow]


class Evening(Fact):
    """Tonight, as it stands."""

    type: Literal["evening"] = "evening"
    tonight: evening_facts.Tonight


class Show(Fact):
    """A show file as it stands, to those who have it open."""

    type: Literal["show"] = "show"
    file: str
    version: int = Field(description="Rises with every change; codes of a stretch name it, too.")
    number: int = Field(description="Names the file in binary messages.")
    saved: bool = Field(description="Whether the disk has it; told again when it has.")
    title: str
    fps: float
    frames: int
    tempo: float | None
    data: dict[str, JsonValue] = Field(description="The file's own tables, as plain data.")
    cues: list[facts.Cue]
    palettes: list[facts.Palette] = Field(description="The show's own.")
    can_undo: bool
    can_redo: bool
    undoes: str = Field(description="What undo would take back, in words.")
    redoes: str
    changed_by: Literal["", "browser", "editor"] = Field(
        description="Who changed it last: a browser, an editor on disk, or nobody since opening."
    )
    notes: list[str]
    values: dict[str, list[facts.Value]] = Field(description="Of its tables show and limit.")
    places: list[facts.Place] = Field(description="Its own groups and routes.")


class Findings(Fact):
    """What is to be known of a show; ``complete`` once the whole show has been looked at."""

    type: Literal["findings"] = "findings"
    file: str
    version: int
    complete: bool
    flashing: list[facts.Flash] = Field(description="Don't play it before the person agrees.")
    allowed: bool = Field(description="Whether the person at this browser did.")
    hidden: list[facts.Hidden]
    most_amps: list[float] = Field(description="A, the most of each budget of the house.")
    lowest_gain: float = Field(description="1 if nothing is dimmed.")
    dimmed_share: float = Field(description="The part of the show that is dimmed, 0..1.")
    binding: str = Field(description="The budget that binds most, in words; empty if none.")


class Accepted(Fact):
    """What was asked is done."""

    type: Literal["accepted"] = "accepted"
    id: int
    file: str = ""
    version: int = Field(0, description="Of the file, after it.")


class Refused(Fact):
    """What was asked isn't done; nothing has changed. The sentence goes beside the control."""

    type: Literal["refused"] = "refused"
    id: int | None
    sentence: str
    file: str = ""
    path: facts.Path | None = None
    yours: JsonValue = Field(default=None, description="If somebody else changed the same value:")
    theirs: JsonValue = Field(default=None, description="what you sent, and what is there.")
    conflict: bool = Field(
        default=False, description="Whether the two may choose which of them counts."
    )


class Problems(Fact):
    """All files that can't be used as they stand; the last good ones stay in use."""

    type: Literal["problems"] = "problems"
    problems: list[facts.Problem]


class HouseLight(Fact):
    """Who sends to the controllers."""

    type: Literal["house_light"] = "house_light"
    light: facts.Light


class PaletteChecked(Fact):
    """The answer to `CheckPalette`."""

    type: Literal["palette_checked"] = "palette_checked"
    id: int
    strip: list[str]
    check: facts.PaletteCheck


class Invitation(Fact):
    """The answer to `Invite`."""

    type: Literal["invitation"] = "invitation"
    id: int
    rights: facts.Rights
    address: str = Field(description="With the token; empty if the desk listens here alone.")
    code: str = Field(description="Six digits.")
    qr: list[str] = Field(description="Rows of 0 and 1, for the address.")
    minutes: int
    sentence: str


class Controllers(Fact):
    """The answer to `FindControllers`."""

    type: Literal["controllers"] = "controllers"
    id: int
    sentence: str
    found: list[facts.Controller]


class Farewell(Fact):
    """The last message on a socket, and why it closes."""

    type: Literal["farewell"] = "farewell"
    sentence: str


ServerMessage = Annotated[
    Session
    | Shows
    | Evening
    | Days
    | DaysAnswer
    | Show
    | Findings
    | Accepted
    | Refused
    | Problems
    | HouseLight
    | PaletteChecked
    | Invitation
    | Controllers
    | Farewell,
    Field(discriminator="type"),
]
SERVER: TypeAdapter[ServerMessage] = TypeAdapter(ServerMessage)

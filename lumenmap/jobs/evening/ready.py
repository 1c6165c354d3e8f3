"""What can be played now, and what the evening is doing: whole objects that never change."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.names import LONGEST
from lumenmap.core.plain import plain
from lumenmap.jobs.evening.kept import Wish

State = Literal["waiting", "playing", "nothing to play", "lent", "stopped"]


def wish(piece: Piece) -> Wish:
    """Return what a piece asks to be made ready."""
    return piece.show, piece.brightness, piece.values


@dataclass(frozen=True, slots=True, eq=False)
class Ready:
    """What can be played, as the files stood when they were last good; never changed.

    Attributes
    ----------
    shows
        Frames of the shows that were made ready, by what was wished (`wish`).
    problems
        A sentence for each thing that isn't as it should be.
    """

    almanac: Almanac
    shows: dict[Wish, FrameSet] = field(default_factory=dict)
    problems: tuple[str, ...] = ()

    def frames(self, piece: Piece | None) -> FrameSet | None:
        """Return the frames of a piece, if they are ready."""
        return self.shows.get(wish(piece)) if piece is not None else None

    def title(self, piece: Piece) -> str:
        """Return the title of the show that plays for a piece; its file's name if it isn't ready.

        No file is read for that: the light may be waiting. At another brightness it has the same.
        """
        others = (frames for (show, *_), frames in self.shows.items() if show == piece.show)
        frames = self.frames(piece) or next(others, None)
        title = frames.meta.get("show") if frames is not None else None
        return plain(str(title or piece.show.stem), LONGEST)


@dataclass(frozen=True, slots=True, eq=False)
class Doing:
    """What the evening is doing: its state, what plays, what comes."""

    state: State = "waiting"
    ready: Ready | None = None
    piece: Piece | None = None
    frames: FrameSet | None = None
    coming: Piece | None = None

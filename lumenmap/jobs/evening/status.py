"""``status.json``: the heartbeat of an evening, written every two seconds while it is alive.

Whoever reads it (`lumenmap status`, the desk) goes by its time: one older than `ALIVE_SECONDS` was
written by a program that no longer runs, or whose disk is full.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from lumenmap.almanac.model import Piece
from lumenmap.almanac.tonight import row
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.files import write_whole
from lumenmap.core.folders.locks import is_held
from lumenmap.core.notices import notice
from lumenmap.core.regular import read_regular
from lumenmap.core.system import only_read
from lumenmap.jobs.evening.ready import Doing, Ready, State
from lumenmap.jobs.wire import FOLDER

STATUS = "status.json"
#: It is written so often (s); one that is older was left by a program that is gone.
BEAT_SECONDS, ALIVE_SECONDS = 2.0, 15.0
_LARGEST = 1_000_000


class _Part(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)


class Stretch(_Part):
    """What plays from when to when; a row of `lumenmap tonight`."""

    show: str
    title: str = ""
    rule: str
    start: datetime
    stop: datetime
    brightness: float


class Frames(_Part):
    """What left since the start: frames, those dropped for being late, packets."""

    sent: int = 0
    dropped: int = 0
    packets: int = 0
    lost: dict[str, int] = Field(default_factory=dict)


class SupplyAmps(_Part):
    """A supply's current: now, and the most that the show draws from it at this brightness, A."""

    name: str
    now: float
    most: float


class Controller(_Part):
    """A controller's address, and whether it is there."""

    address: str
    at: str | None = None
    state: Literal["there", "refuses", "no sign", "not known"]
    why: str = ""
    name: str = ""
    since: datetime | None = None
    sent: int = 0
    lost: int = 0


class Status(_Part):
    """What an evening is doing; ``time`` is when it said so."""

    format: Literal["lumenmap-status"] = "lumenmap-status"
    version: Literal[1] = 1
    time: datetime
    started: datetime
    process: int
    state: State
    almanac: str
    zone: str = "UTC"
    playing: Stretch | None = None
    next: Stretch | None = None
    next_change: datetime | None = None
    frames: Frames = Frames()
    amps: list[SupplyAmps] = Field(default_factory=list)
    network: list[Controller] = Field(default_factory=list)
    problems: list[str] = Field(default_factory=list)
    flashing: list[str] = Field(default_factory=list)
    wire: str = ""

    def age(self, now: datetime) -> float:
        """Return how long ago it was written, s."""
        return (now - self.time).total_seconds()

    def alive(self, now: datetime) -> bool:
        """Return whether the evening runs, by what it last wrote."""
        return self.state != "stopped" and -ALIVE_SECONDS < self.age(now) < ALIVE_SECONDS


def doing_now(doing: Doing) -> dict[str, Any]:
    """Return the part of a status that says what plays and what comes."""
    ready, piece, coming = doing.ready, doing.piece, doing.coming
    frames = doing.frames if doing.state == "playing" else None
    assert ready is not None
    almanac = ready.almanac
    change = piece.stop if piece else coming.start if coming else None
    return {
        "state": doing.state,
        "almanac": str(almanac.file),
        "zone": almanac.place.zone.key,
        "playing": _row(ready, piece) if piece and doing.state == "playing" else None,
        "next": _row(ready, coming) if coming else None,
        "next_change": change,
        "problems": list(ready.problems),
        "flashing": [str(one) for one in frames.meta.get("flashing") or []] if frames else [],
    }


def _row(ready: Ready, piece: Piece) -> dict[str, Any]:
    return row(ready.almanac, piece, ready.title(piece))


class Heart:
    """Writes the status whenever `beat` is called; that it can't be written is told once.

    Parameters
    ----------
    parts
        Returns the status as it is now, but for its times.
    also
        Is given each status, too.
    """

    def __init__(
        self,
        file: Path,
        parts: Callable[[], dict[str, Any]],
        wall: Callable[[], datetime],
        also: Callable[[Status], None] | None = None,
    ) -> None:
        self._file, self._parts, self._wall, self._also = file, parts, wall, also
        self._started = wall()
        self._again = 0
        self._pause = 1

    def beat(self, *, last: bool = False) -> None:
        """Write it; after a failure, not at every call unless it is the ``last``."""
        status = Status(time=self._wall(), started=self._started, **self._parts())
        if self._also is not None:
            self._also(status)
        if self._again > 0 and not last:
            self._again -= 1
            return
        try:
            # Not flushed: a card that is written to every two seconds wears out.
            write_whole(self._file, status.model_dump_json(indent=2) + "\n", flush=False)
            self._pause = 1
        except (LumenmapError, OSError) as error:
            notice(f"{error}; playing continues without it")
            self._again, self._pause = self._pause, min(2 * self._pause, 30)


def status_file(path: Path) -> Path:
    """Return where the status is of an almanac, a house's folder, or a state folder."""
    folder = path if path.is_dir() else path.parent
    if path.name == STATUS:
        return path
    inner = folder / FOLDER / STATUS
    return folder / STATUS if (folder / STATUS).exists() and not inner.exists() else inner


def unheard(status: Status, file: Path, now: datetime) -> bool:
    """Return whether an evening runs that can't write its status, as on a full disk."""
    return not status.alive(now) and is_held(file.parent)


def read_status(path: Path) -> Status:
    """Read the status that an evening wrote.

    Parameters
    ----------
    path
        As for `status_file`.

    Raises
    ------
    InputError
        There is none, or the file isn't one.
    """
    file = status_file(path)
    try:
        return Status.model_validate_json(read_regular(file, _LARGEST, "a status"))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = ".".join(map(str, first["loc"]))
        message = f"isn't a status of lumenmap run: {first['msg']}"
        raise InputError(message, file=file, key=key) from None
    except OSError as error:
        if isinstance(error, FileNotFoundError):
            if not path.exists():
                raise InputError("no such file", file=path) from None
            if is_held(file.parent):
                raise InputError(
                    "lumenmap run plays here, but can't write its status; look at its log, and see "
                    "whether the disk is full",
                    file=path,
                ) from None
            if only_read(path):
                raise InputError(
                    "there is no status: this disk can only be read now, so whether lumenmap run "
                    "plays here isn't known. Look at its log, and at the disk",
                    file=path,
                ) from None
            almanac = path / "almanac.toml" if path.is_dir() else path
            raise InputError(
                f"lumenmap run hasn't run here yet. To start it: lumenmap run {almanac} "
                "--to ADDRESS",
                file=path,
            ) from None
        raise InputError(f"can't be read: {error.strerror or error}", file=file) from None


def now_utc() -> datetime:
    """Return the time of day."""
    return datetime.now(UTC)

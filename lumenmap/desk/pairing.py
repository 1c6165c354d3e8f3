"""Who may come in: one-time addresses, six-digit codes, and the devices that were paired.

Strategy: whatever lets somebody in is random and short-lived, works once, and is kept as a hash
only. Guessing is slowed for everybody together, since addresses on a network can be made up.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import secrets
import time
from collections import deque
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from lumenmap.core import system
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.notices import notice
from lumenmap.core.regular import read_regular
from lumenmap.desk.wire.facts import Rights

#: An invitation lasts so long (s).
INVITED_SECONDS = 600.0
#: Tries of a code: in a minute, and in all before there is a new one.
TRIES_A_MINUTE, TRIES = 5, 20
#: A paired device stays so for this long (s): a year.
PAIRED_SECONDS = 366 * 86400
#: Devices that are kept; the oldest goes.
MOST_DEVICES = 50


class RefusedError(InputError):
    """Somebody isn't let in; the sentence is for them."""


@dataclass(frozen=True, slots=True)
class Device:
    """A paired browser: the hash of its token, what it may do, since when."""

    token: str
    rights: Rights
    since: float
    local: bool


@dataclass(slots=True)
class _Invitation:
    token: str
    code: str
    rights: Rights
    local: bool
    until: float
    tries: int = 0


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def state_of(folder: Path) -> Path:
    """Return where the devices of a folder are kept: with this user's state, not in the folder."""
    name = hashlib.sha256(str(folder.resolve()).encode()).hexdigest()[:16]
    return system.user_state() / "desk" / f"{name}.json"


class Pairing:
    """The devices that may come in, and the invitations that are open.

    Parameters
    ----------
    file
        Where hashes of paired devices are kept; in memory only if it can't be written.
    clock
        Seconds since the epoch.
    """

    def __init__(self, file: Path, clock: Callable[[], float] = time.time) -> None:
        self._file, self._clock = file, clock
        self._invitations: list[_Invitation] = []
        self._tried: deque[float] = deque()
        self._devices = self._load()

    def invite(self, rights: Rights, *, local: bool = False) -> tuple[str, str]:
        """Return a token and a code, either of which pairs one device once.

        A new invitation takes the place of older ones of its kind.
        """
        token, code = secrets.token_urlsafe(24), f"{secrets.randbelow(10**6):06d}"
        self._invitations = [i for i in self._open() if i.local != local]
        until = self._clock() + INVITED_SECONDS
        self._invitations.append(_Invitation(_hash(token), _hash(code), rights, local, until))
        return token, code

    def _open(self) -> list[_Invitation]:
        now = self._clock()
        return [i for i in self._invitations if i.until > now]

    def by_token(self, token: str) -> str:
        """Pair the device that has a one-time address; return its cookie.

        Raises
        ------
        RefusedError
            The address is wrong, old or used.
        """
        given = _hash(token)
        found = next((i for i in self._open() if hmac.compare_digest(i.token, given)), None)
        if found is None:
            raise RefusedError(
                "This address has been used, or is older than ten minutes. Ask for a new one: on "
                "the machine of the desk, type lumenmap desk again, or use a browser that is "
                "already in."
            )
        return self._pair(found)

    def by_code(self, code: str) -> str:
        """Pair the device on which a code was typed; return its cookie.

        Raises
        ------
        RefusedError
            A wrong code, or too many of them.
        """
        now = self._clock()
        while self._tried and self._tried[0] <= now - 60:
            self._tried.popleft()
        if len(self._tried) >= TRIES_A_MINUTE:
            raise RefusedError(
                "Five codes were tried within a minute. Wait a minute, then try again."
            )
        self._tried.append(now)
        given, found = _hash(code.strip()), None
        for invitation in self._open():
            # All of them are compared, and all count, so that nothing is learned from the time.
            invitation.tries += 1
            if hmac.compare_digest(invitation.code, given) and invitation.tries <= TRIES:
                found = invitation
        self._invitations = [i for i in self._open() if i.tries < TRIES or i is found]
        if found is None:
            raise RefusedError(
                "That isn't the code, or it is older than ten minutes. Ask for a new one on a "
                "device that is already in."
            )
        return self._pair(found)

    def _pair(self, invitation: _Invitation) -> str:
        self._invitations.remove(invitation)
        cookie = secrets.token_urlsafe(32)
        device = Device(_hash(cookie), invitation.rights, self._clock(), invitation.local)
        self._devices[device.token] = device
        while len(self._devices) > MOST_DEVICES:
            del self._devices[min(self._devices, key=lambda t: self._devices[t].since)]
        self._save()
        return cookie

    def device(self, cookie: str | None) -> Device | None:
        """Return the device that has a cookie, or None if it was never paired or long ago."""
        if not cookie or len(cookie) > 200:
            return None
        found = self._devices.get(_hash(cookie))
        if found is None or found.since < self._clock() - PAIRED_SECONDS:
            return None
        return found

    def _load(self) -> dict[str, Device]:
        try:
            rows = json.loads(read_regular(self._file, 1_000_000))
            found = [Device(**row) for row in rows]
        except (OSError, ValueError, TypeError, InputError):
            return {}
        return {d.token: d for d in found if d.rights in ("evening", "compose")}

    def _save(self) -> None:
        rows = json.dumps([asdict(d) for d in self._devices.values()], indent=1)
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            write_whole(self._file, rows + "\n")
        except (OSError, InputError) as error:
            notice(f"{error}; paired devices are forgotten when the desk ends")


def forget(file: Path) -> bool:
    """Drop all paired devices; return whether there were any."""
    with contextlib.suppress(FileNotFoundError):
        file.unlink()
        return True
    return False

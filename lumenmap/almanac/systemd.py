"""A systemd unit that plays the almanac whenever the machine is on."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from lumenmap.core.errors import InputError


def own_command() -> list[str]:
    """Return the command that started this process, without ``--systemd``."""
    arguments = [word for word in sys.argv[1:] if word != "--systemd"]
    return [sys.executable, "-m", "lumenmap", *arguments]


def systemd_unit(name: str, command: Sequence[str], folder: str, user: str) -> str:
    """Return the text of a unit (systemd.service(5)).

    Parameters
    ----------
    command
        The program and its arguments; absolute paths.
    folder
        The working directory.
    user
        The user it runs as, who must be able to write the state and who keeps the house's CID.
    """
    title = "".join(c for c in name if c.isprintable())
    return f"""[Unit]
Description=Light on the roofline: {title.replace("%", "%%")}
Wants=network-online.target time-sync.target
After=network-online.target time-sync.target
StartLimitIntervalSec=0

[Service]
Type=simple
User={user.replace("%", "%%")}
WorkingDirectory={folder.replace("%", "%%")}
ExecStart={" ".join(_quote(word) for word in command)}
Restart=always
RestartSec=5
KillSignal=SIGTERM
TimeoutStopSec=5

[Install]
WantedBy=multi-user.target
"""


def _quote(word: str) -> str:
    """Quote an argument: % and $ are literal, spaces don't split it."""
    if any(c in word for c in "\n\r\0"):
        raise InputError(f'"{word[:40]!r}" can\'t be written in a systemd unit')
    escaped = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{escaped}"' if escaped != word or any(c in word for c in " '\";") else word

"""A systemd unit that plays the almanac whenever the machine is on."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain, strange

#: Nothing is heard of the program for at most so long (s): it prepares a long show meanwhile.
WATCHDOG_SECONDS = 600
#: It goes before other programs (systemd.exec(5), Nice=): six that never rest, on two processors,
#: made frames 19 ms late (p99), and 8 ms with this; 45 % were dropped where `run` let others go
#: before it, at 15 (measured).
_NICE = -10

#: ALSA's devices and no others; its group as Debian names it (systemd.resource-control(5) [P],
#: the group's name [C]).
_SOUND_DEVICES = """PrivateDevices=no
DevicePolicy=closed
DeviceAllow=char-alsa rw
SupplementaryGroups=audio"""


def own_command() -> list[str]:
    """Return the command that started this process, without ``--systemd``."""
    arguments = [word for word in sys.argv[1:] if word != "--systemd"]
    return [sys.executable, "-m", "lumenmap", *arguments]


def systemd_unit(
    name: str,
    command: Sequence[str],
    folder: str,
    user: str,
    writes: Sequence[str] = (),
    sound: bool = False,
) -> str:
    """Return the text of a unit (systemd.service(5), systemd.exec(5)).

    It is restarted if it crashes or hangs, but not if its input is wrong, which no restart mends.
    It can write to ``writes`` only, and has no rights but to read files and to send packets.

    Parameters
    ----------
    command
        The program and its arguments; the program's path is absolute.
    folder
        The working directory.
    user
        The user it runs as, who must be able to write the state and who keeps the house's CID.
    writes
        Folders that it writes to; those that don't exist are left out by systemd.
    sound
        It may use the sound devices too.

    Raises
    ------
    InputError
        A path that systemd can't be told.
    """
    program, *arguments = command
    if strange(program) or set(program) & set("\"'\\"):
        raise InputError(f'"{plain(program, 60)}" can\'t be started by systemd; move it elsewhere')
    devices = _SOUND_DEVICES if sound else "PrivateDevices=yes"
    paths = " ".join(_quote(f"-{path}") for path in writes)
    return f"""[Unit]
Description=Light on the roofline: {plain(name, 80).replace("%", "%%").rstrip(chr(92))}
Wants=network-online.target time-sync.target
After=network-online.target time-sync.target
StartLimitIntervalSec=0

[Service]
Type=notify
NotifyAccess=main
WatchdogSec={WATCHDOG_SECONDS}
User={_whole(user)}
WorkingDirectory={_whole(folder)}
ExecStart={" ".join([_quote(program), *(_quote(w).replace("$", "$$") for w in arguments)])}
Restart=on-failure
RestartPreventExitStatus=2
RestartSec=1
KillSignal=SIGTERM
TimeoutStopSec=5
Nice={_NICE}

ReadWritePaths={paths}
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
{devices}
ProtectProc=invisible
ProtectClock=yes
ProtectHostname=yes
ProtectControlGroups=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6 AF_NETLINK
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged
SystemCallErrorNumber=EPERM
UMask=0022

[Install]
WantedBy=multi-user.target
"""


def _quote(word: str) -> str:
    """Quote a word as systemd.syntax(7) says: % is literal, and nothing splits or ends it."""
    escaped = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    shown = "".join(c if not strange(c) else _escape(c) for c in escaped)
    return f'"{shown}"' if shown != word or not word or any(c in word for c in " ';") else word


def _escape(c: str) -> str:
    try:
        return "".join(f"\\x{byte:02x}" for byte in c.encode("utf-8", "surrogateescape"))
    except UnicodeEncodeError:
        raise InputError(f'"{c}" can\'t be written in a systemd unit') from None


def _whole(value: str) -> str:
    """Return a value that systemd takes as it stands, without quotes."""
    if strange(value) or value != value.strip() or value.endswith("\\"):
        raise InputError(f'"{plain(value, 60)}" can\'t be written in a systemd unit; rename it')
    return value.replace("%", "%%")

"""The desk from start to end: addresses, sockets, invitations, the web server."""

from __future__ import annotations

import asyncio
import contextlib
import ipaddress
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import psutil
import segno
import uvicorn

from lumenmap.core.errors import InputError
from lumenmap.desk.answer import Answers
from lumenmap.desk.hub import Hub
from lumenmap.desk.pairing import INVITED_SECONDS, Pairing, state_of
from lumenmap.desk.server import Server
from lumenmap.desk.wire import asked, told
from lumenmap.desk.wire.facts import Rights
from lumenmap.desk.wire.stretch import LARGEST

_HERE = "127.0.0.1"
_LISTENED = (
    "Anybody on your home network could read what the desk and a device say to each other; "
    "--certificate and --key take your own certificate."
)


@dataclass(frozen=True, slots=True)
class Settings:
    """How the desk is served.

    Attributes
    ----------
    lan
        How often the user said that other devices may come in: twice if the address is public.
    rights
        What a device may do that uses the first invitation to the network.
    certificate, key
        PEM files for https.
    """

    folder: Path
    port: int = 8240
    lan: int = 0
    rights: Rights = "evening"
    certificate: Path | None = None
    key: Path | None = None
    effect_folders: tuple[Path, ...] = ()
    addresses: tuple[str, ...] = field(default=())

    @property
    def scheme(self) -> str:
        """The beginning of its addresses."""
        return "https" if self.certificate else "http"


def home_addresses(told_twice: bool) -> list[str]:
    """Return this machine's IPv4 addresses on the home network, the usual one first.

    Raises
    ------
    InputError
        It is on no network, or on one that isn't a home's.
    """
    found = [
        address.address
        for name, addresses in psutil.net_if_addrs().items()
        for address in addresses
        if address.family == socket.AF_INET and not address.address.startswith("127.")
    ]
    if not found:
        raise InputError("this machine is on no network; the desk can be used on it alone")
    private = [a for a in found if ipaddress.ip_address(a).is_private]
    public = [a for a in found if a not in private]
    if public and not told_twice:
        raise InputError(
            f"this machine has the address {public[0]}, which isn't one of a home network, so "
            "strangers might reach the desk. It is made for the home alone. If you are sure that "
            "only your own devices come here, say --lan twice"
        )
    usual = _usual()
    return sorted(found if told_twice else private, key=lambda a: a != usual)


def _usual() -> str:
    """Return the address that this machine uses to reach others; nothing is sent to find out."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # TEST-NET-1, RFC 5737: nobody's
        return str(probe.getsockname()[0])
    return ""


@contextlib.contextmanager
def listening(addresses: list[str], port: int) -> Iterator[list[socket.socket]]:
    """Give sockets that listen; port 0 is any free one, the same for all.

    Raises
    ------
    InputError
        The port is in use, or not ours to use.
    """
    with contextlib.ExitStack() as stack:
        made: list[socket.socket] = []
        for address in addresses:
            one = stack.enter_context(socket.socket(socket.AF_INET, socket.SOCK_STREAM))
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                one.bind((address, port))
            except OSError as error:
                raise InputError(
                    f"port {port} can't be used: {error.strerror}. Another desk may be running; "
                    "use its page, or name another port, as in --port 8241"
                ) from None
            port = one.getsockname()[1]
            made.append(one)
        yield made


class Desk:
    """One run of the desk.

    Parameters
    ----------
    say
        Prints a line for the user.
    ready
        Called with the one-time address once it can be opened.
    """

    def __init__(
        self,
        settings: Settings,
        say: Callable[[str], None],
        ready: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._settings, self._say, self._ready = settings, say, ready
        self.pairing = Pairing(state_of(settings.folder))
        self.hub = Hub(settings.folder, settings.effect_folders)

    async def serve(self) -> None:
        """Serve until a signal ends it.

        Raises
        ------
        InputError
            The port is in use, or the network isn't a home's.
        """
        s = self._settings
        home = list(s.addresses) or (home_addresses(s.lan > 1) if s.lan else [])
        with listening([_HERE, *home], s.port) as sockets:
            self._port = int(sockets[0].getsockname()[1])
            self._home = home
            names = [_HERE, "localhost", *home, *_names(home)]
            hosts = [f"{name}:{self._port}" for name in names]
            server = Server(
                self.hub,
                self.pairing,
                Answers(self.hub, self._invite),
                hosts,
                secure=s.certificate is not None,
            )
            config = uvicorn.Config(
                server.app,
                ws="websockets-sansio",
                ws_max_size=LARGEST,
                ws_per_message_deflate=False,
                lifespan="off",
                log_level="warning",
                access_log=False,
                proxy_headers=False,
                server_header=False,
                timeout_graceful_shutdown=2,
                ssl_certfile=s.certificate,
                ssl_keyfile=s.key,
            )
            await self.hub.start()
            try:
                self._welcome()
                await uvicorn.Server(config).serve(sockets)
            finally:
                await self.hub.stop()

    def _welcome(self) -> None:
        token, _ = self.pairing.invite("compose", local=True)
        here = f"{self._settings.scheme}://{_HERE}:{self._port}/open?token={token}"
        self._say(f"desk: {here}")
        self._say("This address works once, within ten minutes. Ctrl-C ends the desk.")
        if self._home:
            made = self._invite(asked.Invite(id=0, rights=self._settings.rights))
            self._say("")
            self._say(made.sentence)
            self._say(f"{made.address}    code {made.code}")
            self._say(qr_text(made.qr))
            if self._settings.certificate is None:
                self._say(_LISTENED)
        self._ready(here)

    def _invite(self, message: asked.Invite) -> told.Invitation:
        if not self._home:
            raise InputError("the desk listens on this machine only; start it with --lan")
        token, code = self.pairing.invite(message.rights)
        base = f"{self._settings.scheme}://{self._home[0]}:{self._port}"
        address = f"{base}/open?token={token}"
        what = "everything" if message.rights == "compose" else "the evening only"
        return told.Invitation(
            id=message.id,
            rights=message.rights,
            address=address,
            code=code,
            qr=qr_rows(address),
            minutes=int(INVITED_SECONDS // 60),
            sentence=f"Within ten minutes, one device may pair with this, for {what}. Scan the "
            f"picture, or open {base} and type the code {code}.",
        )


def _names(home: list[str]) -> list[str]:
    """Return the names by which devices on a home network may find this machine."""
    if not home:
        return []
    name = socket.gethostname().split(".")[0].lower()
    return [name, f"{name}.local"] if name and name != "localhost" else []


def qr_rows(text: str) -> list[str]:
    """Return a QR code (ISO/IEC 18004) as rows of 0 and 1, its quiet zone included."""
    code = segno.make(text, error="m", micro=False)
    return ["".join("1" if dark else "0" for dark in row) for row in code.matrix_iter(border=4)]


def qr_text(rows: list[str]) -> str:
    """Return a QR code for a terminal: two rows to a line, light on dark or dark on light."""
    blocks = {"00": "█", "01": "▀", "10": "▄", "11": " "}
    pairs = zip(rows[::2], [*rows[1::2], "0" * len(rows[0])], strict=False)
    return "\n".join("".join(blocks[a + b] for a, b in zip(*p, strict=True)) for p in pairs)


def run(settings: Settings, say: Callable[[str], None], ready: Callable[[str], None]) -> None:
    """Serve the desk until a signal ends it.

    Raises
    ------
    InputError
        See `Desk` and `Hub`.
    """
    asyncio.run(Desk(settings, say, ready).serve())

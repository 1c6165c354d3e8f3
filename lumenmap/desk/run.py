"""The desk from start to end: addresses, sockets, invitations, the web server."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import ssl
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from lumenmap.controller.ways import Feed
from lumenmap.core.errors import InputError
from lumenmap.desk.answer import Answers
from lumenmap.desk.hub import Hub
from lumenmap.desk.listen import home_addresses, listening, names_of
from lumenmap.desk.pairing import INVITED_SECONDS, Pairing, state_of
from lumenmap.desk.qr import qr_rows, qr_text
from lumenmap.desk.server import Server
from lumenmap.desk.wire import asked, told
from lumenmap.desk.wire.facts import Rights
from lumenmap.desk.wire.stretch import LARGEST
from lumenmap.jobs.project import Project

_HERE = "127.0.0.1"
_LISTENED = (
    "Anybody on your home network could read what the desk and a device say to each other; "
    "to encrypt it, give your own certificate by --certificate and --key."
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
    addresses
        Of this machine on the home network, instead of those that are found.
    feed, interface
        Where the controllers are.
    watched, made
        As for `lumenmap.desk.session.Session`.
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
    addresses: tuple[str, ...] = ()
    feed: Feed | None = None
    interface: str = ""
    watched: str | None = None
    made: Callable[[], Project] | None = None

    @property
    def scheme(self) -> str:
        """The beginning of its addresses."""
        return "https" if self.certificate else "http"


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
        self.hub = Hub(
            settings.folder,
            settings.effect_folders,
            settings.feed,
            settings.interface,
            watched=settings.watched,
            made=settings.made,
        )
        self._server: uvicorn.Server | None = None

    async def serve(self) -> None:
        """Serve until a signal ends it.

        Raises
        ------
        InputError
            The port is in use, or the network isn't a home's.
        """
        s = self._settings
        check_certificate(s.certificate, s.key)
        home = list(s.addresses) or (home_addresses(s.lan > 1) if s.lan else [])
        with listening([_HERE, *home], s.port) as sockets:
            self._port = int(sockets[0].getsockname()[1])
            self._home = home
            names = [_HERE, "localhost", *home, *names_of(home)]
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
                self._server = _Server(config)
                with _ended_by_signals(self.stop):
                    await self._server.serve(sockets)
            finally:
                await self.hub.stop()

    def stop(self) -> None:
        """End it, from any thread."""
        if self._server is not None:
            self._server.should_exit = True

    def _welcome(self) -> None:
        token, _ = self.pairing.invite("compose", local=True)
        here = f"{self._settings.scheme}://{_HERE}:{self._port}/open?token={token}"
        self._say(f"{'desk' if self._settings.watched is None else 'watching'}: {here}")
        self._say("This address works once, within ten minutes. Ctrl-C ends it.")
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


class _Server(uvicorn.Server):
    """The web server, which leaves signals to us: it would end the process before we can."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Do nothing."""
        yield


@contextlib.contextmanager
def _ended_by_signals(stop: Callable[[], None]) -> Iterator[None]:
    """Call ``stop`` when Ctrl-C is pressed or the system asks the process to end."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {
        number: signal.signal(number, lambda *_: stop())
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def check_certificate(certificate: Path | None, key: Path | None) -> None:
    """Refuse a certificate that can't be used, before anything is served.

    Raises
    ------
    InputError
        A file that can't be read or isn't a certificate with its key.
    """
    if certificate is None:
        if key is not None:
            raise InputError("goes with --certificate", key="key")
        return
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key)
    except OSError as error:  # an SSLError is one
        reason = error.strerror if not isinstance(error, ssl.SSLError) else "not a certificate"
        raise InputError(
            f"can't be used: {reason}; expected a certificate as PEM, its key in the same file or "
            "by --key",
            file=certificate,
        ) from None


def run(settings: Settings, say: Callable[[str], None], ready: Callable[[str], None]) -> None:
    """Serve the desk until a signal ends it.

    Raises
    ------
    InputError
        See `Desk` and `Hub`.
    """
    asyncio.run(Desk(settings, say, ready).serve())

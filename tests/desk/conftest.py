"""A desk that runs in a thread of the test, on a free port of this machine."""

import asyncio
import contextlib
import http.client
import json
import random
import shutil
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from uvicorn.protocols.websockets import websockets_sansio_impl
from websockets.sync.client import connect

from lumenmap.desk.run import Desk, Settings
from lumenmap.desk.wire.stretch import Stretch, unpack

# The server's pings take numbers from `random` in a thread, which property tests of the same process
# forbid while they draw: they get numbers of their own.
websockets_sansio_impl.random = random.Random()


@dataclass
class Answer:
    """What an HTTP request got."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self):
        return self.body.decode()


#: What a message with an id is answered by.
ANSWERS = (
    "accepted",
    "refused",
    "invitation",
    "palette_checked",
    "controllers",
    "days_answer",
)


class Page:
    """A browser's socket, read into lists."""

    def __init__(self, socket):
        self.socket = socket
        self.told: dict[str, dict] = {}
        self.all: list[dict] = []
        self.stretches: list[Stretch] = []
        self._id = 0

    def send(self, type, **words):
        self.socket.send(json.dumps({"type": type, **words}))

    def ask(self, type, seconds=10.0, **words):
        """Send what has an answer; return the answer."""
        self._id += 1
        self.send(type, id=self._id, **words)
        return self.until(
            lambda m: m["type"] in ANSWERS and m["id"] == self._id,
            seconds,
        )

    def read(self, seconds):
        """Read one message; None if there is none in time."""
        try:
            got = self.socket.recv(timeout=seconds)
        except TimeoutError:
            return None
        if isinstance(got, bytes):
            self.stretches.append(unpack(got))
            return self.stretches[-1]
        message = json.loads(got)
        self.told[message["type"]] = message
        self.all.append(message)
        return message

    def until(self, found, seconds=10.0):
        """Read until a message fits; return it."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            message = self.read(left)
            if isinstance(message, dict) and found(message):
                return message
        raise AssertionError(f"not told in {seconds} s; last: {self.all[-3:]}")

    def light(self, found=lambda s: True, seconds=10.0):
        """Read until a stretch fits; return it."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            message = self.read(left)
            if isinstance(message, Stretch) and found(message):
                return message
        raise AssertionError(f"no such light in {seconds} s")

    def lit(self, version, seconds=10.0):
        """Read until there is light of a version, if there isn't yet."""
        if not any(s.version >= version for s in self.stretches):
            self.light(lambda s: s.version >= version, seconds)

    def drain(self, seconds=0.3):
        while self.read(seconds) is not None:
            pass

    def open(self, file="show.toml"):
        self.send("open", file=file)
        return self.until(lambda m: m["type"] == "show" and m["file"] == file)

    def edit(self, path, old, new, file="show.toml", **words):
        edits = [{"op": "set", "path": path, "old": old, "new": new}]
        version = words.pop("version", None) or self.told["show"]["version"]
        return self.ask("edit", file=file, version=version, edits=edits, **words)


@dataclass
class Running:
    """A desk that runs, and ways to it."""

    folder: Path
    desk: Desk
    address: str
    said: list[str]
    sockets: contextlib.ExitStack = field(default_factory=contextlib.ExitStack)
    cookie: str = ""

    @property
    def host(self):
        return urlsplit(self.address).netloc

    @property
    def origin(self):
        return f"http://{self.host}"

    def http(self, method, path, body=None, cookie=None, **headers):
        """Make a request as it stands; a header that is None is left out."""
        link = http.client.HTTPConnection(*self.host.split(":"), timeout=30)
        given = {"Host": self.host, "Cookie": cookie}
        if body is not None:
            given |= {"Content-Type": "application/json", "Origin": self.origin}
            given |= {"Content-Length": str(len(body))}
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        link.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in given.items():
            if value is not None:
                link.putheader(name, value)
        link.endheaders(body)
        got = link.getresponse()
        answer = Answer(got.status, {k.lower(): v for k, v in got.getheaders()}, got.read())
        link.close()
        return answer

    def let_in(self):
        """Use the one-time address; return the cookie."""
        if not self.cookie:
            parts = urlsplit(self.address)
            got = self.http("GET", f"{parts.path}?{parts.query}")
            assert got.status == 303, got
            self.cookie = got.headers["set-cookie"].split(";")[0]
        return self.cookie

    def connect(self, cookie=None, origin=None, **words):
        headers = {"Cookie": self.let_in() if cookie is None else cookie}
        return self.sockets.enter_context(
            connect(
                f"ws://{self.host}/socket",
                origin=self.origin if origin is None else origin,
                additional_headers=headers,
                compression=None,
                max_size=None,
                close_timeout=0.5,  # what the test left unread is in the way of a goodbye
                # Pings take numbers from `random`, which property tests in the same process forbid.
                ping_interval=None,
                **words,
            )
        )

    def page(self, cookie=None):
        page = Page(self.connect(cookie))
        # In any order: what is told to everybody meanwhile comes before, or instead and last.
        first = {"session", "shows", "evening", "problems", "house_light"}
        page.until(lambda _: first <= page.told.keys())
        return page


@contextlib.contextmanager
def running(folder, **settings):
    """Run a desk for as long as the block does."""
    said, ready = [], threading.Event()
    address = []

    def begin(found):
        address.append(found)
        ready.set()

    desk = Desk(Settings(folder, port=0, **settings), said.append, begin)
    failed = []

    def work():
        try:
            asyncio.run(desk.serve())
        except BaseException as error:
            failed.append(error)
            ready.set()

    thread = threading.Thread(target=work)
    thread.start()
    assert ready.wait(30)
    if failed:
        raise failed[0]
    made = Running(folder, desk, address[0], said)
    try:
        with made.sockets:
            yield made
    finally:
        desk.stop()
        thread.join(30)
        assert not thread.is_alive() and not failed, failed


ALMANAC = """\
# The year of an invented house.
[almanac]
place = { latitude = 47.6, longitude = -122.3, timezone = "America/Los_Angeles" }

[[dim]]                 # the neighbours
from = "21:30"
to = "23:00"
brightness = 0.5

[[rule]]
name = "Every evening"
show = "show.toml"
on = "monday..sunday"
from = "sunset"
to = "22:30"
"""


@pytest.fixture
def house(started):
    """A folder as a beginner has it, with an almanac and a second show."""
    (started / "almanac.toml").write_text(ALMANAC, "utf-8")
    text = (started / "show.toml").read_text("utf-8")
    (started / "other.toml").write_text(text.replace("First Try", "Another One"), "utf-8")
    return started


@pytest.fixture
def desk(house):
    with running(house) as made:
        yield made


@pytest.fixture(scope="session")
def shared_desk(tmp_path_factory):
    """A desk for tests that change nothing."""
    from lumenmap.starter.start import start

    folder = tmp_path_factory.mktemp("shared") / "house"
    start(folder, metric=True)
    (folder / "almanac.toml").write_text(ALMANAC, "utf-8")
    with running(folder) as made:
        yield made
    shutil.rmtree(folder)

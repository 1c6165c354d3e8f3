"""The house under the hand: what a receiver on this machine gets is what the browser draws."""

import itertools
import socket
import struct
import threading
import time
from contextlib import contextmanager

import numpy as np
import pytest

from lumenmap.controller.ways import feed
from lumenmap.jobs.wire import FOLDER, Wire
from lumenmap.site import Site
from tests.desk.conftest import running

#: ANSI E1.31-2018: the vector of a data packet, options, sequence, universe, slots.
OPTIONS, SEQUENCE, UNIVERSE, SLOTS = 112, 111, 113, 126


class Receiver:
    """Takes what is sent to a port of this machine, with its time."""

    def __init__(self):
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.bind(("127.0.0.1", 0))
        self.socket.settimeout(0.05)
        self.packets = []
        self._stop = False
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    @property
    def port(self):
        return self.socket.getsockname()[1]

    def _run(self):
        while not self._stop:
            try:
                self.packets.append((time.monotonic(), self.socket.recv(2000)))
            except TimeoutError:
                continue

    def close(self):
        self._stop = True
        self._thread.join()
        self.socket.close()

    def data(self):
        """(time, universe, slots) of the data packets that aren't the last of a stream."""
        return [
            (at, struct.unpack_from("!H", p, UNIVERSE)[0], p[SLOTS:])
            for at, p in list(self.packets)
            if len(p) > SLOTS and not p[OPTIONS] & 0x40
        ]

    def wait(self, found, seconds=10):
        end = time.monotonic() + seconds
        while not found() and time.monotonic() < end:
            time.sleep(0.02)
        assert found()


@contextmanager
def lit(house):
    receiver = Receiver()
    try:
        with running(house, feed=feed(["127.0.0.1"], port=receiver.port)) as desk:
            yield desk, receiver
    finally:
        receiver.close()


def codes_at(page, frame):
    """The newest codes of a frame that the page has."""
    for s in reversed(page.stretches):
        if s.first <= frame < s.first + len(s.codes):
            return s.codes[frame - s.first]
    raise AssertionError(frame)


def test_the_controller_gets_what_the_browser_draws_and_then_dark(house):
    with lit(house) as (desk, receiver):
        page = desk.page()
        page.open()
        page.until(lambda m: m["type"] == "findings" and m["complete"])
        page.send("look", file="show.toml", frame=100, playing=False)
        time.sleep(0.2)
        assert not receiver.packets, "nothing is sent before it is asked for"
        assert page.ask("light", on=True)["type"] == "accepted"
        page.until(lambda m: m["type"] == "house_light" and m["light"]["state"] == "on")
        page.send("look", file="show.toml", frame=100, playing=False)
        page.drain()
        want = codes_at(page, 100).tobytes()
        receiver.wait(lambda: any(slots == want for _, _, slots in receiver.data()))
        # An edit is on the wire soon after it is in the browser.
        done = page.edit(["cue", 0, "layer", 0, "opacity"], 1, 0.25)
        assert done["type"] == "accepted"
        page.lit(done["version"])
        page.drain()
        want = codes_at(page, 100).tobytes()
        receiver.wait(lambda: receiver.data()[-1][2] == want)
        assert page.ask("light", on=False)["type"] == "accepted"
        page.until(lambda m: m["type"] == "house_light" and m["light"]["state"] == "off")
        ends = [p for _, p in receiver.packets if p[OPTIONS] & 0x40]
        assert len(ends) >= 3, "E1.31 6.2.6: three packets say that the stream is over"
        assert not any(receiver.data()[-1][2]), "the last frame is dark"


def test_playing_follows_the_browser(house):
    with lit(house) as (desk, receiver):
        page = desk.page()
        show = page.open()
        page.until(lambda m: m["type"] == "findings" and m["complete"])
        page.drain()
        page.ask("light", on=True)
        page.send("look", file="show.toml", frame=30, playing=True)
        begun = time.monotonic()
        receiver.wait(lambda: time.monotonic() > begun + 2)
        alike = {}  # a show that repeats itself has several frames of the same codes
        for f in range(show["frames"]):
            alike.setdefault(codes_at(page, f).tobytes(), []).append(f)
        after = [(at - begun, alike[s]) for at, _, s in receiver.data() if at > begun + 0.3]
        assert len(after) > 20 and len(alike) > 60
        for at, frames in after:
            assert min(abs(f - (30 + at * show["fps"])) for f in frames) < 12, (at, frames)


def test_it_ends_when_the_browser_is_gone(house):
    with lit(house) as (desk, receiver):
        page = desk.page()
        page.open()
        page.ask("light", on=True)
        receiver.wait(lambda: receiver.packets)
        page.socket.close()
        receiver.wait(lambda: any(p[OPTIONS] & 0x40 for _, p in receiver.packets))


def test_another_who_sends_and_doesnt_lend_is_not_disturbed(house):
    with Wire(house / FOLDER, "stream"), lit(house) as (desk, receiver):
        page = desk.page()
        page.open()
        page.ask("light", on=True)
        told = page.until(lambda m: m["type"] == "house_light" and m["light"]["sentence"], 30)
        assert told["light"]["state"] == "off"
        assert "lumenmap stream" in told["light"]["sentence"]
        assert "is sending to this house; stop it first" in told["light"]["sentence"]
        assert not receiver.packets


def test_the_evening_lends_its_wire_and_has_it_back(house):
    """What was borrowed isn't made dark: the lender's next frame follows at once."""
    lender = Wire(house / FOLDER, "run")
    assert lender.take()
    with lit(house) as (desk, receiver):
        page = desk.page()
        page.open()
        page.send("look", file="show.toml", frame=100, playing=False)
        page.ask("light", on=True)
        end = time.monotonic() + 10
        while lender.wanted() is None and time.monotonic() < end:
            time.sleep(0.05)
        assert str(lender.wanted()).startswith("lumenmap desk")
        assert not receiver.packets
        lender.release()
        page.send("look", file="show.toml", frame=100, playing=False)
        receiver.wait(lambda: any(any(s) for _, _, s in receiver.data()))
        assert not lender.take()
        page.ask("light", on=False)
        end = time.monotonic() + 10
        while not lender.take() and time.monotonic() < end:
            time.sleep(0.05)
        assert lender.held
        assert any(receiver.data()[-1][2]), "the pixels are left as they are"
        lender.release()


def test_without_a_controller_it_says_what_to_do(desk):
    page = desk.page()
    page.open()
    page.drain()
    assert page.told["house_light"]["light"]["state"] == "impossible"
    answer = page.ask("light", on=True)
    assert answer["type"] == "refused" and "--to ADDRESS" in answer["sentence"]


FLASHING = """\
[show]
house = "house.toml"
fps = 40
length = "4 s"

[palette.both]
stops = ["white", "black"]
steps = true

[[cue]]
[[cue.layer]]
effect = "still"
palette = "white"
envelope = { at = ["0 s", "50 ms", "100 ms"], level = [1, 0, 1], easing = "step-end", repeat = true }

[palette.white]
stops = ["white"]
"""


@pytest.mark.parametrize("agreed", [False, True])
def test_flashing_goes_dark_on_the_house_unless_it_was_agreed_to(house, agreed):
    (house / "strobe.toml").write_text(FLASHING, "utf-8")
    with lit(house) as (desk, receiver):
        page = desk.page()
        page.open("strobe.toml")
        found = page.until(lambda m: m["type"] == "findings" and m["complete"])
        assert found["flashing"] and not found["allowed"]
        assert any(s.flashing for s in page.stretches) or page.light(lambda s: s.flashing)
        if agreed:
            page.send("allow_flashing", file="strobe.toml", allow=True)
            page.until(lambda m: m["type"] == "findings" and m["allowed"])
        page.ask("light", on=True)
        page.send("look", file="strobe.toml", frame=0, playing=True)
        begun = time.monotonic()
        receiver.wait(lambda: time.monotonic() > begun + 2.5)
        late = [any(s) for at, _, s in receiver.data() if at > begun + 1.5]
        flips = sum(a != b for a, b in itertools.pairwise(late))
        if agreed:
            assert flips > 10
        else:
            assert flips <= 6 and page.until(
                lambda m: m["type"] == "house_light" and m["light"]["state"] == "waiting"
            )["light"]["sentence"].startswith("More than three flashes a second")


def test_no_frame_on_the_wire_is_over_a_budget(house):
    from tests.desk.test_composing import tight

    tight(house)
    site = Site.read(house / "house.toml")
    with lit(house) as (desk, receiver):
        page = desk.page()
        page.open()
        page.ask("light", on=True)
        page.send("look", file="show.toml", frame=200, playing=True)
        for opacity in (0.3, 1.0, 0.5):
            old = page.told["show"]["data"]["cue"][1]["layer"][0].get("opacity")
            done = page.edit(["cue", 1, "layer", 0, "opacity"], old, opacity)
            page.until(lambda m, v=done["version"]: m["type"] == "show" and m["version"] == v)
            time.sleep(0.4)
        [span] = site.pixels.lines
        frames = [s for _, _, s in receiver.data() if len(s) == 3 * span.count]
        assert len(frames) > 10 and any(any(s) for s in frames)
        wire = np.array([list(s) for s in frames], np.uint8).reshape(len(frames), -1, 3)
        codes = np.empty_like(wire)
        for k, letter in enumerate(span.order):
            codes[..., "RGBW".index(letter)] = wire[..., k]
        assert (site.budgets.amps_of(codes) <= site.budgets.amps).all()


def test_dangerous_wiring_is_told_and_nothing_is_lit(house):
    """As every command that lights a house: without a fuse that fits, it stays dark."""
    path = house / "house.toml"
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[[supply]]")], "utf-8")
    with lit(house) as (desk, receiver):
        page = desk.page()
        told = page.told["session"]["house"]
        assert "no [[supply]]" in told["dangers"][0] and told["budgets"][0]["amps"] is None
        page.open()
        page.light()  # on the picture it may be seen
        page.ask("light", on=True)
        said = page.until(lambda m: m["type"] == "house_light" and m["light"]["sentence"])
        assert said["light"]["state"] == "off" and "supply" in said["light"]["sentence"]
        assert not receiver.packets

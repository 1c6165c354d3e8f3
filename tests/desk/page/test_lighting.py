"""Light the house, from a real browser to a controller of the test's own on loopback.

The receiver reads E1.31 by the octets of ANSI E1.31-2018 and knows nothing of the desk.
"""

import os
import re
import signal
import subprocess
import sys
import time
from contextlib import contextmanager

import numpy as np
import pytest

from lumenmap.controller.ways import feed
from lumenmap.jobs.wire import FOLDER, holder
from lumenmap.site import Site
from tests.desk.browser import EVENING, LAPTOP, PHONE, Hands, desk_of, house_of
from tests.desk.test_composing import tight
from tests.desk.test_house_light import OPTIONS, Receiver

RIGHT = "\ue014"


@contextmanager
def lit(driver, folder, small=False):
    """A desk with a controller, and a person at it."""
    house_of(folder)
    if small:
        tight(folder)
    receiver = Receiver()
    try:
        with desk_of(folder, feed=feed(["127.0.0.1"], port=receiver.port)) as desk:
            desk.desk.hub.session.now = lambda: EVENING
            hands = Hands(driver, desk)
            hands.let_in()
            yield hands, receiver
            driver.get("about:blank")
    finally:
        receiver.close()


def last(receiver):
    return np.frombuffer(receiver.data()[-1][2], np.uint8).astype(int)


def begin(hands, size):
    hands.open("compose", "show.toml", size)
    hands.until("/A of/.test(document.querySelector('lm-amps')?.textContent)")
    hands.tap("Pause").tap("Light the house")
    hands.sees("The house shows what is under the hand.")


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_light_follows_the_hand_and_stops_when_let_go(driver, tmp_path, size):
    with lit(driver, tmp_path / "house") as (hands, receiver):
        begin(hands, size)
        receiver.wait(lambda: receiver.data() and last(receiver).any())
        before = last(receiver).sum()
        hands.tap("How much of it shows").press("How much of it", RIGHT, root=".control .row")
        hands.write("How much of it", "0.2", root=".number")
        receiver.wait(lambda: last(receiver).sum() < 0.35 * before)
        hands.tap("Undo")
        receiver.wait(lambda: last(receiver).sum() > 0.9 * before)
        if hands.has("Done"):
            hands.tap("Done")
        # The playhead is the hand, too.
        at = last(receiver).tolist()
        hands.press("Playhead", RIGHT * 20)
        receiver.wait(lambda: last(receiver).tolist() != at)
        hands.tap("Let go of the house")
        receiver.wait(lambda: any(p[OPTIONS] & 0x40 for _, p in list(receiver.packets)))
        hands.until("document.querySelector('.light').getAttribute('aria-pressed') !== 'true'")
        count = len(receiver.packets)
        time.sleep(0.6)
        assert len(receiver.packets) == count, "nothing more is sent"
        assert not last(receiver).any(), "the last frame is dark"
        assert holder(tmp_path / "house" / FOLDER) is None


def test_whatever_the_hand_does_stays_within_the_budget(driver, tmp_path):
    folder = tmp_path / "house"
    with lit(driver, folder, small=True) as (hands, receiver):
        begin(hands, LAPTOP)
        hands.tap("Effect: chase").tap("still").tap("Done")
        hands.tap("How much of it shows")
        for share in ("0.3", "1", "0.6", "1"):
            hands.write("How much of it", share, root=".number")
            time.sleep(0.3)
        hands.tap("Done")
        hands.sees("Dimmed")
        site = Site.read(folder / "house.toml")
        [span] = site.pixels.lines
        frames = [s for _, _, s in receiver.data() if len(s) == 3 * span.count]
        wire = np.array([list(s) for s in frames], np.uint8).reshape(len(frames), -1, 3)
        codes = np.empty_like(wire)
        for k, letter in enumerate(span.order):
            codes[..., "RGB".index(letter)] = wire[..., k]
        amps, limit = site.budgets.amps_of(codes), site.budgets.amps
        # What doesn't change is sent again once a second only (ANSI E1.31-2018 6.6.2).
        assert len(set(frames)) >= 4 and (amps <= limit).all()
        assert (amps.max(axis=0) > 0.6 * limit).any(), "so that something was dimmed"


def test_it_stops_when_the_page_is_closed(driver, tmp_path):
    with lit(driver, tmp_path / "house") as (hands, receiver):
        first = driver.current_window_handle
        driver.switch_to.new_window("tab")
        begin(hands, LAPTOP)
        receiver.wait(lambda: receiver.data() and last(receiver).any())
        driver.close()
        driver.switch_to.window(first)
        receiver.wait(lambda: any(p[OPTIONS] & 0x40 for _, p in list(receiver.packets)), 3)
        assert not last(receiver).any()
        light = hands.desk.desk.hub.house_light
        receiver.wait(lambda: light.state.state == "off", 3)


def test_it_stops_when_the_page_falls_asleep(driver, tmp_path, monkeypatch):
    """A phone in a pocket says nothing more, and its line stays open."""
    monkeypatch.setattr("lumenmap.desk.light.house.SILENT", 2.5)
    with lit(driver, tmp_path / "house") as (hands, receiver):
        begin(hands, PHONE)
        receiver.wait(lambda: receiver.data() and last(receiver).any())
        time.sleep(3)  # a page that is awake is heard of once a second
        assert not any(p[OPTIONS] & 0x40 for _, p in list(receiver.packets))
        hands.js("WebSocket.prototype.send = () => {}")
        receiver.wait(lambda: any(p[OPTIONS] & 0x40 for _, p in list(receiver.packets)), 6)
        assert not last(receiver).any()


def test_it_stops_when_the_server_is_killed(driver, tmp_path):
    """By SIGKILL, so that nothing can be sent any more: receivers go dark after 2.5 s by themselves
    (ANSI E1.31-2018 6.7.1, network data loss). The wire is free for whoever comes next.
    """
    folder = tmp_path / "house"
    house_of(folder)
    receiver = Receiver()
    command = [sys.executable, "-m", "lumenmap", "desk", str(folder), "--no-browser", "--port", "0"]
    words = ["--to", "127.0.0.1", "--controller-port", str(receiver.port)]
    server = subprocess.Popen([*command, *words], stdout=subprocess.PIPE, text=True)
    try:
        address = re.search(r"http://\S+", server.stdout.readline())[0]

        class Desk:
            host = address.split("/")[2]

        Desk.folder = folder
        hands = Hands(driver, Desk)
        driver.get(address)
        begin(hands, LAPTOP)
        receiver.wait(lambda: receiver.data() and last(receiver).any())
        os.kill(server.pid, signal.SIGKILL)
        server.wait(10)
        time.sleep(0.3)
        count = len(receiver.packets)
        time.sleep(1.0)
        assert len(receiver.packets) == count
        hands.sees("The desk doesn't answer. The lights go on without it.")
        assert holder(folder / FOLDER) is None
    finally:
        server.kill()
        server.wait(10)
        server.stdout.close()
        receiver.close()
        driver.get("about:blank")
        driver.get_log("browser")  # the line that was lost

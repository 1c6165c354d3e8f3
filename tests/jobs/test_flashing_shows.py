"""What flashes isn't played without a word in its show file; a preview tells of it.

More than three flashes a second: WCAG 2.2, success criterion 2.3.1 [P].
"""

import json
import socket
from datetime import UTC, datetime

import pytest

from lumenmap.controller.e131.clock import SystemClock
from lumenmap.core.errors import CheckError
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.good_shows import GoodShows
from lumenmap.jobs.evening.keeper import Keeper
from lumenmap.jobs.evening.nightly import Clocks, Nightly
from lumenmap.jobs.evening.status import doing_now
from lumenmap.jobs.project import load
from lumenmap.jobs.sending import keep_frames, kept_problems
from tests.small_house import WALL

SHOW = """
[show]
house = "house.toml"
fps = 20
length = 2
[limit]
mode = "frame"
[palette.ink]
stops = ["white"]
"""
CUE = '[[cue]]\nstart = {0}\nlength = 0.1\n[[cue.layer]]\neffect = "still"\npalette = "ink"\n'
NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
REASON = "All who will see it were asked"


@pytest.fixture
def strobe(tmp_path):
    """A show that is white for a tenth of a second, dark for the next, and so on."""
    (tmp_path / "house.toml").write_text(WALL)
    (tmp_path / "show.toml").write_text(SHOW + "".join(CUE.format(i / 5) for i in range(10)))
    return tmp_path / "show.toml"


def allow(show):
    show.write_text(show.read_text().replace("fps", f'flashing = "{REASON}"\nfps', 1))


def send(lumenmap, what):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as controller:
        controller.bind(("127.0.0.1", 0))
        port = controller.getsockname()[1]
        return lumenmap("stream", what, "--to", "127.0.0.1", "--port", port)


def test_a_strobe_is_not_streamed_without_a_word(strobe, lumenmap):
    got = send(lumenmap, strobe)
    assert got.code == 1 and "show.toml: not played: " in got.err
    assert "makes general flashes" in got.err and "seizures" in got.err
    assert 'write flashing = "why it may" in its [show]' in got.err
    allow(strobe)
    got = send(lumenmap, strobe)
    assert got.code == 0
    assert (
        'FLASHING: "the whole house": the light makes general flashes' in got.err
        and REASON in got.err
    )


def test_an_export_keeps_the_word(strobe, lumenmap):
    assert lumenmap("export", strobe, "-o", strobe.parent / "out").code == 0  # a warning there
    with pytest.raises(CheckError, match="flashing ="):
        lumenmap("stream", strobe.parent / "out", "--to", "127.0.0.1", "--debug")
    allow(strobe)
    lumenmap("export", strobe, "-o", strobe.parent / "out")
    assert send(lumenmap, strobe.parent / "out").code == 0
    side = json.loads((strobe.parent / "out" / "frames.json").read_text())
    assert side["flashing_because"] == REASON and "general flashes" in side["flashing"][0]


def test_the_evening_does_not_play_it_either(strobe):
    def render(show, folder, brightness, _values):
        keep_frames(load(show), folder, brightness=brightness)

    shows = GoodShows(strobe.parent / "kept", render, kept_problems)
    assert shows.get(strobe) is None
    assert "general flashes" in shows.problems["show.toml"]
    allow(strobe)
    assert shows.get(strobe) is not None


@pytest.mark.parametrize("file", ["a.gif", "a.html", "a.apng"])
def test_a_preview_of_it_says_so(strobe, lumenmap, file):
    got = lumenmap("preview", strobe, "-o", strobe.parent / file, "--width", 64)
    assert got.code == 0 and "FLASHING: " in got.out and "seizures" in got.out


def test_the_status_shows_that_what_plays_flashes(strobe):
    """The almanac's evening reports it for as long as the show plays."""
    allow(strobe)
    status = []

    class Player:
        def play(self, frames, *_, **__):
            pass

    almanac = strobe.parent / "almanac.toml"
    almanac.write_text(
        '[almanac]\nplace = { latitude = 52, longitude = 5, timezone = "UTC" }\n'
        '[[rule]]\nshow = "show.toml"\non = "01-01..12-31"\nfrom = "10:00"\nto = "20:00"\n'
    )
    shows = GoodShows(
        strobe.parent / "kept", lambda show, made, *_: keep_frames(load(show), made), kept_problems
    )
    keeper = Keeper(Almanacs(almanac, None, print), shows, wall=lambda: NOON)
    stops = iter([False, True])

    def ready():
        keeper.look()
        return keeper.ready

    Nightly(ready, Player(), Clocks(lambda: NOON, SystemClock()), report=status.append).run(
        lambda: next(stops, True)
    )
    told = [doing_now(doing) for doing in status]
    assert told[0]["state"] == "playing" and told[-1]["state"] == "stopped"
    assert "general flashes" in told[0]["flashing"][0] and told[-1]["flashing"] == []

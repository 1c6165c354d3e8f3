"""Light the house: what is under a hand goes to the controllers too, until it is let go.

Strategy: a thread sends the frame that the browser draws, by the same codes, paced by the clock of
the streams. What it really sent is counted for flashes as it goes, so a hand that moves too fast is
caught, too. It ends when it is let go, when the browser is gone, or when nothing is heard of it.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.cid import house_cid
from lumenmap.controller.e131.clock import SystemClock
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.ways import Feed
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.desk.describe.sentence import sentence
from lumenmap.desk.light.live import Live
from lumenmap.desk.light.sending import Sending
from lumenmap.desk.light.take import Take
from lumenmap.desk.wire import facts
from lumenmap.jobs.wire import FOLDER, Wire

_LOG = logging.getLogger(__name__)

#: Frames a second that are sent, at least and at most (E1.31's refresh is at most 44, DMX512).
SLOWEST, FASTEST = 10.0, 44.0
#: Somebody watches what is under a hand, so it comes before the evening (E1.31 6.2.3).
PRIORITY = 110
#: A browser that was not heard of for so long has gone to sleep (s).
SILENT = 10.0
_FLASHES = (
    "More than three flashes a second: the house is dark. Move more slowly, or say that you want "
    "to see flashing."
)


@dataclass(slots=True)
class _Hand:
    """Who lights the house, and where its playhead is."""

    client: int
    address: str
    show: int
    frame: float
    playing: bool
    heard: float
    flashing: bool = False


class HouseLight:
    """Sends what is under one hand at a time.

    Parameters
    ----------
    feed
        Which way and where to; None if the desk was started without.
    folder
        The house's folder, whose wire is held.
    tell
        Called with the state when it changes, from any thread.
    """

    def __init__(
        self,
        feed: Feed | None,
        interface: str,
        folder: Path,
        live: Live,
        tell: Callable[[facts.Light], None],
    ) -> None:
        self._feed, self._interface, self._folder = feed, interface, folder
        self._live, self._tell = live, tell
        self._clock = SystemClock()
        self._lock = threading.Lock()
        self._hand: _Hand | None = None
        self._thread: threading.Thread | None = None
        self.state = facts.Light(state="off", by="", sentence="")
        if feed is None:
            self._say("impossible", "", "Start the desk with --to ADDRESS to light the house.")

    def _say(self, state: str, by: str, sentence: str) -> None:
        made = facts.Light.model_validate({"state": state, "by": by, "sentence": sentence})
        if made != self.state:
            self.state = made
            self._tell(made)

    def take(self, client: int, address: str, show: int, *, flashing: bool) -> None:
        """Put the house under a browser's hand.

        Raises
        ------
        InputError
            The desk has no controller to send to.
        """
        if self._feed is None:
            raise InputError("the desk was started without a controller; add --to ADDRESS")
        with self._lock:
            now = self._clock.now()
            self._hand = _Hand(client, address, show, 0.0, False, now, flashing)
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._run, name="desk-house", daemon=True)
                self._thread.start()

    def look(self, client: int, show: int, frame: int, playing: bool) -> None:
        """Follow a browser's playhead, if the house is under its hand."""
        with self._lock:
            hand = self._hand
            if hand is not None and hand.client == client:
                hand.show, hand.frame, hand.playing = show, float(frame), playing
                hand.heard = self._clock.now()

    def let_go(self, client: int | None = None) -> None:
        """Take the house from a browser's hand, or from anybody's."""
        with self._lock:
            if self._hand is not None and client in (None, self._hand.client):
                self._hand = None

    def stop(self) -> None:
        """End, and wait for the last packets."""
        self.let_go()
        if self._thread is not None and self._thread.is_alive():
            self._thread.join()

    def _run(self) -> None:
        try:
            with Wire(self._folder / FOLDER, "desk") as wire:
                while self._hand is not None:
                    self._send(wire.borrowed)
            self._say("off", "", "")
        except LumenmapError as error:
            self.let_go()
            said = error.message if isinstance(error, InputError) else str(error)
            self._say("off", "", sentence(said))
        except Exception:
            _LOG.exception("lighting the house failed")
            self.let_go()
            self._say("off", "", "Lighting the house failed; the log says why.")

    def _send(self, borrowed: bool) -> None:
        """Send until the hand is gone, or holds another show or house."""
        assert self._feed is not None
        hand = self._hand
        take = self._live.take(hand.show) if hand else None
        if hand is None or take is None:
            self.let_go()
            return
        site, show = take.project.site, hand.show
        site.verdict.require_safe()
        pixels = site.pixels
        universes = self._feed.way.plan(pixels.lines, pixels.kind.channels)
        routes = self._feed.routes(universes)
        rate = min(FASTEST, max(SLOWEST, take.project.show.fps))
        self._feed.check_speed(universes, rate)
        home = site.house.file or self._folder / "house.toml"
        name = f"desk {self._folder.resolve().name}"[:60]
        source = Source(house_cid(home, "desk"), name, PRIORITY)
        sender = self._feed.sender(self._interface)
        blocks = PacketBlocks(source, routes, rate, length=8)
        self._say("on", hand.address, "The house shows what is under the hand.")
        try:
            Sending(sender, routes).loop(self, blocks, rate, (show, id(site)))
            if self._hand is None:
                for packets in blocks.closing(dark=not borrowed):
                    Sending(sender, routes).send(packets)
                    self._clock.sleep(1 / rate)
        finally:
            sender.close()

    def frame(self, same: tuple[int, int]) -> tuple[Take, int, bool] | None:
        """Return what is due: a take, a frame of it, and whether flashing was agreed to.

        None if the hand is gone, or holds another show or house than the ``same``.
        """
        with self._lock:
            hand, now = self._hand, self._clock.now()
            if hand is not None and now - hand.heard > SILENT:
                self._hand = hand = None
        take = self._live.take(hand.show) if hand else None
        if hand is None or take is None or (hand.show, id(take.project.site)) != same:
            return None
        gone = (now - hand.heard) * take.project.show.fps if hand.playing else 0.0
        return take, int(hand.frame + gone) % take.frames, hand.flashing

    def wait(self, due: float) -> float:
        """Wait until ``due``; return the time then."""
        now = self._clock.now()
        if due > now:
            self._clock.sleep(due - now)
        return self._clock.now()

    def dark(self, flashes: bool) -> None:
        """Say that the house is dark because it flashed, or that it is lit again."""
        hand = self._hand
        if hand is not None:
            said = _FLASHES if flashes else "The house shows what is under the hand."
            self._say("waiting" if flashes else "on", hand.address, said)

"""`play_evenings`: every evening of an almanac, until it is stopped.

The light has the main thread to itself. Files, status, network and the wire are looked after in
threads of their own, which may fail or wait for a disk; shows are made in other processes.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any

from lumenmap.controller.discovery import Asker, read_network
from lumenmap.controller.e131.clock import InterruptibleClock
from lumenmap.controller.e131.play import StreamPlayer
from lumenmap.controller.e131.sender import Sender, UdpSender
from lumenmap.controller.presence import Presence
from lumenmap.core.service import ServiceManager
from lumenmap.hub.client import House, Hub
from lumenmap.jobs.aloud.speaker import Speaker
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.amps import Amps
from lumenmap.jobs.evening.asked import Evenings, open_sender, state_folder
from lumenmap.jobs.evening.asked_wire import AskedWire
from lumenmap.jobs.evening.background import Every
from lumenmap.jobs.evening.good_shows import GoodShows
from lumenmap.jobs.evening.hub_status import HubStatus
from lumenmap.jobs.evening.keeper import Keeper
from lumenmap.jobs.evening.maker import Maker
from lumenmap.jobs.evening.nightly import Clocks, Nightly
from lumenmap.jobs.evening.ready import Doing
from lumenmap.jobs.evening.sounding import Sounding
from lumenmap.jobs.evening.state import open_state
from lumenmap.jobs.evening.status import BEAT_SECONDS, STATUS, Heart, doing_now, now_utc
from lumenmap.jobs.sending import require_safe_houses
from lumenmap.jobs.wire import holder, wire_folder

#: How often files, the network and the wire are looked at (s).
FILES_SECONDS, NETWORK_SECONDS, WIRE_SECONDS = 1.0, 5.0, 0.25


def play_evenings(
    asked: Evenings,
    stop: Callable[[], bool],
    wait: Callable[[float], None],
    log: Callable[[str], None],
) -> None:
    """Play every evening until ``stop``.

    Parameters
    ----------
    wait
        Waits for so many seconds, or until it must stop.
    log
        Gets a sentence for whatever happens.

    Raises
    ------
    InputError
        Wrong from the start: the almanac, with no good one kept; an address; another evening.
    """
    asked.feed.check()
    sender = open_sender(asked, stop, wait, log)
    kept = state_folder(asked.almanac, asked.state)
    almanacs = Almanacs(asked.almanac, kept, log)
    with open_state(kept) as folder:
        almanacs.keep(folder)
        _Evening(asked, almanacs, folder, sender, wait, log).play(stop)


class _Evening:
    """The parts of one run, put together."""

    def __init__(
        self,
        asked: Evenings,
        almanacs: Almanacs,
        folder: Path,
        sender: Sender,
        wait: Callable[[float], None],
        log: Callable[[str], None],
    ) -> None:
        self._asked, self._log, self._wait = asked, log, wait
        if note := almanacs().elsewhere:
            log(note)
        house = almanacs().house or asked.almanac
        self._clock = InterruptibleClock(wait)
        self._sender = sender
        addresses = asked.feed.addresses()
        if isinstance(self._sender, UdpSender):
            self._sender.expect(addresses)
        asker = Asker(read_network(asked.network)) if asked.network else None
        self._presence = Presence(self._targets, log, now_utc, asker)
        routes = cache(asked.feed.routes)  # the same routes are the same stream
        self._player = StreamPlayer(
            asked.source(house),
            lambda frames: routes(asked.feed.way.plan(frames.lines, frames.channels)),
            self._sender,
            self._clock,
            asked.options,
            log,
            # Of controllers with an address `Presence` tells, each by name; of a group nobody else.
            losses=(lambda _: None) if addresses else log,
        )
        self._ended = False
        maker = Maker(asked.effect_folders)
        self._shows = GoodShows(folder / "shows", maker.render, maker.check, asked.effect_folders)
        self._keeper = Keeper(almanacs, self._shows, wall=now_utc, say=log)
        maker.obsolete = lambda: self._ended or self._keeper.obsolete()
        self._wire_folder = wire_folder(house)
        self._wire = AskedWire(self._wire_folder)
        self._amps = Amps()
        self._doing = Doing(ready=self._keeper.ready)
        self._hub = self._joined(asked) if asked.hub is not None else None
        self._heart = Heart(folder / STATUS, self._status, now_utc, self._hub)
        self._writing = Every(BEAT_SECONDS, self._beat, "writing the status")

    def _require_safe_houses(self) -> None:
        """Stop at a dangerous house, unless there is something good to play from before."""
        shows = dict.fromkeys(rule.show for rule in self._keeper.ready.almanac.rules)
        unknown = [show for show in shows if not self._shows.has_good(show)]
        require_safe_houses(unknown, self._asked.effect_folders)

    def _joined(self, asked: Evenings) -> HubStatus:
        assert asked.hub is not None
        house = House(lambda: self._keeper.ready.almanac, now_utc)
        return HubStatus(Hub(asked.hub, house, self._log, prefix=asked.discovery))

    def _targets(self) -> Iterable[Any]:
        sender = self._sender
        return list(sender.targets.values()) if isinstance(sender, UdpSender) else []

    def play(self, stop: Callable[[], bool]) -> None:
        self._require_safe_houses()
        manager = ServiceManager()

        def ended() -> bool:
            manager.alive()
            return stop()

        speaker = Speaker(self._log) if self._asked.sound else None
        nightly = Nightly(
            lambda: self._keeper.ready,
            self._player if speaker is None else Sounding(self._player, speaker),
            Clocks(now_utc, self._clock),
            report=self._report,
            log=self._log,
            wire=self._wire,
        )
        threads = [
            self._writing,
            Every(FILES_SECONDS, self._keeper.look, "looking at the files"),
            Every(NETWORK_SECONDS, self._presence.look, "looking at the network"),
            Every(WIRE_SECONDS, self._wire.look, "looking after the wire"),
        ]
        gc.collect()
        gc.freeze()  # what is there now stays; searching it for garbage would hold frames up
        if not self._wire.take():
            by = holder(self._wire_folder) or "another command"
            self._log(f"{by} is sending to this house; waiting for it to end")
        manager.ready()
        for thread in threads:
            thread.start()
        if self._hub is not None:
            self._hub.hub.start()
        try:
            nightly.run(ended)
        finally:
            self._ended = True
            gc.unfreeze()
            for thread in threads:
                thread.stop()
            self._heart.beat(last=True)
            if speaker is not None:
                speaker.close()
            if self._hub is not None:
                self._hub.hub.stop()
            self._wire.release()
            self._presence.close()
            self._sender.close()
            self._shows.close()

    def _beat(self) -> None:
        gc.collect(1)  # the player turns collecting off; threads leave some garbage all the same
        self._heart.beat()

    def _report(self, doing: Doing) -> None:
        self._doing = doing
        self._writing.soon()

    def _status(self) -> dict[str, Any]:
        doing = self._doing
        sent, dropped, packets = self._player.sent
        amps: list[dict[str, Any]] = []
        if doing.state == "playing" and doing.piece is not None and doing.frames is not None:
            folder = self._shows.folder_of(doing.frames)
            amps = self._amps.rows(doing.piece, doing.frames, folder, now_utc())
        return {
            **doing_now(doing),
            "process": os.getpid(),
            "frames": {
                "sent": sent,
                "dropped": dropped,
                "packets": packets,
                "lost": dict(self._sender.lost),
            },
            "amps": amps,
            "network": self._presence.rows(),
            "wire": str(holder(self._wire_folder) or ""),
        }

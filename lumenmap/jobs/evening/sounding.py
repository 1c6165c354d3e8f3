"""A player whose shows are heard as well."""

from __future__ import annotations

from collections.abc import Callable

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.jobs.aloud.speaker import Speaker
from lumenmap.jobs.evening.nightly import Player


class Sounding:
    """Plays frames by another player, and the sound of their show on this computer."""

    def __init__(self, player: Player, speaker: Speaker) -> None:
        self._player, self._speaker = player, speaker

    def play(
        self,
        frames: FrameSet,
        brightness: float,
        begun: float,
        seconds: float,
        stop: Callable[[], bool],
        *,
        close: Callable[[], bool],
    ) -> None:
        """Play as `StreamPlayer.play`; frames without a sound in silence."""
        if frames.sound is not None:
            self._speaker.prepare(frames.sound)
            self._speaker.play(begun, frames.seconds, loop=True)
        try:
            self._player.play(frames, brightness, begun, seconds, stop, close=close)
        finally:
            self._speaker.stop()

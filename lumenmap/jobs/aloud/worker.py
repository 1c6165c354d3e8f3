"""The process that plays one sound file: ``python -m lumenmap.jobs.aloud.worker FILE``.

It opens the file and the device, waits for a line of JSON that says when the show began, and plays
until its input ends. What a person should know it prints, a sentence a line.
"""

from __future__ import annotations

import json
import signal
import sys
from pathlib import Path
from typing import Any

from lumenmap.controller.e131.clock import SystemClock
from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.jobs.aloud.filling import Filling
from lumenmap.sound.read import opened

#: A device that says nothing, or nonsense, of when a block is heard is taken at its own word for
#: all blocks (s).
_MOST_AHEAD = 2.0


def main() -> None:
    """Play until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for who started us
    sound = Path(sys.argv[1])
    try:
        with opened(sound) as file:
            _play(file, sound)
    except InputError as error:
        _tell(f"no sound: {error}")


def _play(file: Any, sound: Path) -> None:
    try:
        import sounddevice
    except ImportError:
        _tell(f"no sound: playing it needs sounddevice: {install('sound')}")
        return
    except OSError:  # what it loads isn't there
        _tell(
            "no sound: PortAudio isn't installed; on Debian, Ubuntu and Raspberry Pi OS: "
            "sudo apt install libportaudio2"
        )
        return
    clock, filling = SystemClock(), None

    def fill(out: Any, _frames: int, times: Any, _status: object) -> None:
        ahead = times.outputBufferDacTime - times.currentTime
        if not 0 < ahead < _MOST_AHEAD:
            ahead = stream.latency
        if filling is not None:
            filling.fill(out, clock.now() + ahead)

    try:
        stream = sounddevice.OutputStream(
            samplerate=file.samplerate,
            channels=min(file.channels, 2),
            dtype="float32",
            callback=fill,
        )
        with stream:
            line = sys.stdin.readline()
            if not line:
                return
            asked = json.loads(line)
            filling = Filling(file, asked["begun"], asked["seconds"], asked["loop"])
            _tell(f"playing {sound.name} on this computer")
            sys.stdin.read()
    except sounddevice.PortAudioError as error:
        why = str(error).splitlines()[0] if str(error) else "it can't be opened"
        _tell(f"no sound: this computer has no sound device that can be used ({why})")


def _tell(sentence: str) -> None:
    print(sentence, flush=True)


if __name__ == "__main__":
    main()

"""`Speaker`: has a show's sound played, by a process that the light never waits for.

Strategy: whatever is asked of it is only noted, and done by a thread. The other process works out
what is heard when from the clock that paces the frames, so it may start late, stumble or be killed:
the light doesn't notice, and the sound joins where the light is.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from queue import SimpleQueue

#: How long the other process may take to end (s).
_END_SECONDS = 1.0


class Speaker:
    """Plays one sound file at a time.

    Parameters
    ----------
    say
        Gets a sentence about what is played, or why it isn't; from another thread.
    command
        The program that plays the file that is its last argument.
    """

    def __init__(
        self,
        say: Callable[[str], None],
        command: Sequence[str] = (sys.executable, "-m", "lumenmap.jobs.aloud.worker"),
    ) -> None:
        self._say, self._command = say, list(command)
        self._said = ""
        self._playing: subprocess.Popen[str] | None = None
        self._asked: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="sound", daemon=True)
        self._thread.start()

    def prepare(self, sound: Path) -> None:
        """Have a file and the sound device opened, so that it can be heard at once."""
        self._asked.put(lambda: self._open(sound))

    def play(self, begun: float, seconds: float, *, loop: bool) -> None:
        """Play what was prepared, for a show so long that began at a moment of the clock."""
        line = json.dumps({"begun": begun, "seconds": seconds, "loop": loop})
        self._asked.put(lambda: self._send(line))

    def stop(self) -> None:
        """Play nothing."""
        self._asked.put(self._end)

    def close(self) -> None:
        """End, with what is played."""
        self._asked.put(self._end)
        self._asked.put(None)
        self._thread.join(3 * _END_SECONDS)

    def _work(self) -> None:
        while (task := self._asked.get()) is not None:
            try:
                task()
            except Exception as error:  # the light goes on, whatever it was
                self._tell(f"no sound: {type(error).__name__}: {error}")

    def _open(self, sound: Path) -> None:
        self._end()
        self._playing = subprocess.Popen(
            [*self._command, str(sound)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        listener = threading.Thread(target=self._listen, args=(self._playing, sound), daemon=True)
        listener.start()

    def _send(self, line: str) -> None:
        if self._playing is not None and self._playing.stdin is not None:
            with contextlib.suppress(BrokenPipeError):  # it has ended, and said why
                self._playing.stdin.write(line + "\n")
                self._playing.stdin.flush()

    def _end(self) -> None:
        process, self._playing = self._playing, None
        if process is None:
            return
        assert process.stdin is not None
        with contextlib.suppress(OSError):
            process.stdin.close()
        try:
            process.wait(_END_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    def _listen(self, process: subprocess.Popen[str], sound: Path) -> None:
        assert process.stdout is not None
        told = False
        with process.stdout as out:
            for line in out:
                self._tell(line.strip())
                told = True
        if process is self._playing and not told:
            code = process.wait()
            self._tell(f"no sound: what plays {sound.name} ended early (exit code {code})")

    def _tell(self, sentence: str) -> None:
        if sentence != self._said:  # once, and not for every show of the evening
            self._said = sentence
            self._say(sentence)

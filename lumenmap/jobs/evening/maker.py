"""Makes a show's frames ready, and checks kept ones, in a process of its own.

So an effect that never ends, or that eats the memory, takes nothing with it; and the frames that
play meanwhile keep their pace: the process lets others go first. A request is a line of JSON on
standard input, the answer one on standard output.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from lumenmap.almanac.values import Values
from lumenmap.core.errors import CheckError, InputError, LumenmapError, WriteError, together
from lumenmap.core.system import lower_priority
from lumenmap.jobs.evening.good_shows import DangerousError, Obsolete

#: Next to the frames: the current of each frame and supply (A, float32); the supplies' names and
#: idle current.
AMPS, SUPPLIES = "amps.npy", "supplies.json"
#: How often it looks whether the work is still of use (s), and how long a show may take to make.
_LOOK_SECONDS, _MOST_SECONDS = 0.1, 3600.0
_KINDS: dict[str, type[LumenmapError]] = {
    "write": WriteError,
    "input": InputError,
    "danger": DangerousError,
    "check": CheckError,
}


class Maker:
    """Renders and checks in other processes; what `GoodShows` needs.

    Parameters
    ----------
    effect_folders
        Of effects of the user's own.
    obsolete
        Whether the work has become useless, since files have changed or the program ends.
    command
        The program that does the work.
    """

    def __init__(
        self,
        effect_folders: Iterable[Path] = (),
        obsolete: Callable[[], bool] = lambda: False,
        command: Sequence[str] = (sys.executable, "-m", "lumenmap.jobs.evening.maker"),
    ) -> None:
        self._effects = [str(folder.resolve()) for folder in effect_folders]
        self.obsolete, self._command = obsolete, list(command)
        self._checked: tuple[Path, list[Any]] = Path(), []

    def render(self, show: Path, folder: Path, brightness: float, values: Values) -> None:
        """Write a show's frames and the current of its supplies into a folder.

        Raises
        ------
        LumenmapError
            As `lumenmap.jobs.export.export`.
        Obsolete
            The files have changed meanwhile.
        """
        request = {
            "show": str(show),
            "folder": str(folder),
            "effects": self._effects,
            "brightness": brightness,
            "values": dict(values),
        }
        self._checked = folder / "frames.json", self._ask(request)

    def check(self, sidecar: Path) -> list[str]:
        """Return what is wrong with frames by the house as it is now, in sentences.

        Raises
        ------
        LumenmapError, Obsolete
            As `render`.
        """
        known, problems = self._checked  # what was rendered last was checked at once
        self._checked = Path(), []
        found = problems if sidecar == known else self._ask({"check": str(sidecar)})
        return [str(problem) for problem in found]

    def _ask(self, request: dict[str, Any]) -> Any:
        process = subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        end = time.monotonic() + _MOST_SECONDS
        with process:
            text: str | None = json.dumps(request)
            while True:
                try:
                    out, _ = process.communicate(text, timeout=_LOOK_SECONDS)
                    break
                except subprocess.TimeoutExpired:
                    text = None
                    if self.obsolete():
                        process.kill()
                        raise Obsolete from None
                    if time.monotonic() > end:
                        process.kill()
                        raise CheckError(f"took longer than {_MOST_SECONDS / 60:.0f} min") from None
        return _answer(out, process.returncode)


def _answer(out: str, code: int) -> Any:
    """Return what the other process found, or raise what it raised."""
    try:
        answer: dict[str, Any] = json.loads(out)
    except ValueError:
        why = f"signal {-code}" if code < 0 else f"exit code {code}"
        raise CheckError(f"the process that made it ended early ({why})") from None
    if (kind := answer.get("kind")) is None:
        return answer["result"]
    made = _KINDS[kind]
    if issubclass(made, InputError):
        raise together([made(**one) for one in answer["each"]])
    raise made(answer["text"])


def _told(error: LumenmapError) -> dict[str, Any]:
    """Return an error as data; see `_answer`."""
    from lumenmap.power.verdict.finding import DangerError

    kind = next((name for name, of in _KINDS.items() if isinstance(error, of)), "check")
    kind = "danger" if isinstance(error, DangerError) else kind
    if not isinstance(error, InputError):
        return {"kind": kind, "text": str(error)}
    parts = ("message", "key", "line", "excerpt")
    each = [
        {**{name: getattr(one, name) for name in parts}, "file": one.file and str(one.file)}
        for one in error.each
    ]
    return {"kind": kind, "each": each}


def main() -> None:
    """Do what one request asks for, and print what came of it."""
    lower_priority()
    request = json.loads(sys.stdin.read())
    from lumenmap.jobs.sending import kept_problems

    try:
        if "check" in request:
            sidecar = Path(request["check"])
        else:
            _make(request)
            sidecar = Path(request["folder"], "frames.json")
        answer: dict[str, Any] = {"result": kept_problems(sidecar)}
    except LumenmapError as error:
        answer = _told(error)
    except Exception as error:  # an effect's, which is anybody's code
        answer = {"kind": "check", "text": f"{type(error).__name__}: {error}"}
    print(json.dumps(answer), flush=True)


def _make(request: dict[str, Any]) -> None:
    from lumenmap.jobs.project import load
    from lumenmap.jobs.sending import keep_frames
    from lumenmap.power.account.recount import supply_amps

    effects = [Path(text) for text in request["effects"]]
    project = load(Path(request["show"]), effect_folders=effects, values=request["values"])
    folder = Path(request["folder"])
    keep_frames(project, folder, brightness=request["brightness"])
    site = project.site
    supplies, amps = supply_amps(folder / "frames.rgb", site.pixels, site.budgets)
    with contextlib.suppress(OSError):  # the status goes without
        np.save(folder / AMPS, amps.astype(np.float32))
        (folder / SUPPLIES).write_bytes(json.dumps(supplies).encode())


if __name__ == "__main__":
    main()

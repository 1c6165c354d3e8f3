"""Loading effect files in a process of their own first: `rehearse`.

An effect file is code, and may end the process, crash it or loop for ever while it is loaded. There
it takes only that process with it; a file that has come through is then loaded in ours. What it
raises or prints there is left for the second time.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from lumenmap.core.errors import InputError

#: Seconds that a folder of effects may take to load; it usually takes a fraction of one.
SECONDS = 60.0
_CHILD = """
import importlib.util, os, sys
out = os.fdopen(os.dup(1), "w")
for stream in (1, 2):
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
count, files = int(sys.argv[1]), sys.argv[2:]
files, sys.path[:] = files[:count], files[count:]
for number, file in enumerate(files):
    print(number, file=out, flush=True)
    try:
        spec = importlib.util.spec_from_file_location(f"lumenmap_rehearsal_{number}", file)
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module
        spec.loader.exec_module(module)
    except BaseException:
        pass
print("all", file=out, flush=True)
os._exit(0)
"""
#: Files that have come through, as they were.
_known: set[tuple[str, int, int]] = set()


def rehearse(files: Sequence[Path]) -> None:
    """Load effect files elsewhere, unless they have come through before.

    Raises
    ------
    InputError
        A file ended the process, or took too long.
    """
    new = {_state(file): file for file in files}
    new = {state: file for state, file in new.items() if state not in _known}
    if not new:
        return
    words = [str(len(new)), *(str(file.resolve()) for file in new.values()), *sys.path]
    process = subprocess.Popen(
        [sys.executable, "-c", _CHILD, *words], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE
    )
    try:
        told, _ = process.communicate(timeout=SECONDS)
        how = "ended the process"
    except subprocess.TimeoutExpired:
        how = f"took over {SECONDS:g} s"
        process.kill()
        told, _ = process.communicate()
    lines = told.decode("ascii", "replace").split()
    if lines[-1:] == ["all"]:
        _known.update(new)
        return
    number = lines[-1] if lines else "0"
    file = list(new.values())[int(number) if number.isdecimal() else 0]
    code = process.returncode
    exit_ = f" (exit code {code})" if code >= 0 else f" (signal {-code})"
    reason = how + (exit_ if how.startswith("ended") else "")
    raise InputError(f"the effect file {file.name} can't be loaded: it {reason}", file=file)


def _state(file: Path) -> tuple[str, int, int]:
    found = file.stat()
    return str(file.resolve()), found.st_mtime_ns, found.st_size

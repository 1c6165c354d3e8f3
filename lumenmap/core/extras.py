"""How to install the optional packages that some commands need."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def install(extra: str) -> str:
    """Return the command that installs an extra into the Python that is running.

    The path is relative if it lies in the working directory.
    """
    python = Path(sys.executable)
    if python.is_relative_to(Path.cwd()):
        python = python.relative_to(Path.cwd())
    shown = f'"{python}"' if " " in str(python) else os.fspath(python)
    return f'{shown} -m pip install "lumenmap[{extra}]"'

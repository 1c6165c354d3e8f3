"""What to type for the libraries that only some jobs need."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def install(extra: str) -> str:
    """Return the command that adds an extra to the very Python that runs this.

    The path is short where it can be: relative if it lies in the present folder.
    """
    python = Path(sys.executable)
    if python.is_relative_to(Path.cwd()):
        python = python.relative_to(Path.cwd())
    shown = f'"{python}"' if " " in str(python) else os.fspath(python)
    return f'{shown} -m pip install "lumenmap[{extra}]"'

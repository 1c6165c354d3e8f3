"""What a job would need and what the machine has free: told before the work, not by its end.

An estimate is rough (within half, as the tests measure), and so is what is free: other programs
come and go. So only what is clearly too much is refused.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

from lumenmap.core.errors import InputError

#: Limits of a container: version 2 and version 1 of the kernel's control groups.
_GROUPS = (
    ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory.current"),
    (
        "/sys/fs/cgroup/memory/memory.limit_in_bytes",
        "/sys/fs/cgroup/memory/memory.usage_in_bytes",
    ),
)
#: Less than this (bytes) is never refused: the estimate is for what is large.
_SMALL = 200_000_000


def free_bytes() -> int:
    """Return the memory that a program can still have here: of the machine, or of its container.

    Memory that holds copies of files counts as free, since the system gives it up when asked.
    """
    import psutil

    found = int(psutil.virtual_memory().available)
    for most, used in _GROUPS:
        with contextlib.suppress(
            OSError, ValueError, IndexError
        ):  # "max" is no number: there is no limit
            found = min(found, max(0, int(_first(most)) - int(_first(used))))
    with contextlib.suppress(ImportError, OSError, ValueError):  # there is no resource on Windows
        import resource

        soft, _ = resource.getrlimit(resource.RLIMIT_AS)
        if soft != resource.RLIM_INFINITY:
            found = min(found, max(0, soft - int(psutil.Process().memory_info().vms)))
    return found


def _first(path: str) -> str:
    return Path(path).read_text("ascii").split()[0]


def require_memory(
    needed: float, instead: str, *, file: Path | str | None = None, key: str = ""
) -> None:
    """Refuse a job that needs more memory than is free.

    Parameters
    ----------
    needed
        Bytes, estimated.
    instead
        What the reader can do: "make the picture smaller".
    file, key
        What asks for so much, as in `InputError`.

    Raises
    ------
    InputError
        With both figures, and ``instead``.
    """
    if needed <= _SMALL:
        return
    free = free_bytes()
    if needed > free:
        raise InputError(
            f"would need {size(needed)} of memory, {size(free)} is free: {instead}",
            file=file,
            key=key,
        )


def size(count: float) -> str:
    """Return bytes as people write them, to two digits.

    >>> size(9_412_000_000), size(240_000_000)
    ('9.4 GB', '240 MB')
    """
    value, unit = (count / 1e9, "GB") if count >= 1e9 else (count / 1e6, "MB")
    return f"{float(f'{value:.2g}'):,g} {unit}"

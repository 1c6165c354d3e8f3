"""Worker processes to render on: on this machine, or a Dask cluster's."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install

if TYPE_CHECKING:
    from concurrent.futures import Executor

#: More processes than this on one machine are a slip of the pen.
MOST_WORKERS = 256
#: A scheduler that stays silent for so long (s) isn't there.
SECONDS_TO_CONNECT = 10.0


@dataclass(frozen=True, slots=True)
class Workers:
    """An executor, and how many tasks it runs at once."""

    executor: Executor
    count: int


@contextlib.contextmanager
def workers(count: int = 1, cluster: str = "") -> Iterator[Workers | None]:
    """Give workers for as long as the block runs; None for one process on this machine.

    Parameters
    ----------
    count
        Processes on this machine.
    cluster
        The address of a Dask scheduler, ``tcp://HOST:8786``, instead. The cluster's machines need
        the same version of lumenmap, and of any effects of your own.

    Raises
    ------
    InputError
        A count that makes no sense, no Dask installed, or no scheduler at the address.
    """
    if not 1 <= count <= MOST_WORKERS:
        raise InputError(f"is {count}; expected 1 to {MOST_WORKERS}", key="workers")
    if cluster:
        with _cluster(cluster) as found:
            yield found
    elif count > 1:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        # Started afresh, not forked: numpy's threads and open files don't survive a fork.
        spawn = get_context("spawn")
        with ProcessPoolExecutor(count, mp_context=spawn, initializer=_prints_aside) as pool:
            yield Workers(pool, count)
    else:
        yield None


def _prints_aside() -> None:
    """Send what effects print, even from C, to the error stream: our output may be read as JSON."""
    os.dup2(2, 1)
    sys.stdout = sys.stderr


@contextlib.contextmanager
def _cluster(address: str) -> Iterator[Workers]:
    try:
        from distributed import Client
    except ImportError:
        raise InputError(
            f"needs the distributed library, which isn't installed ({install('cluster')})",
            key="cluster",
        ) from None
    connect: Callable[..., Any] = Client  # the library has no types
    try:
        client = connect(address, timeout=SECONDS_TO_CONNECT, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(f'no Dask scheduler answers at "{address[:80]}"', key="cluster") from error
    with client:
        count = sum(client.nthreads().values())
        if not count:
            raise InputError(f'the scheduler at "{address[:80]}" has no workers', key="cluster")
        yield Workers(client.get_executor(), count)

"""The same show gives the same bytes however it is cut and wherever it is rendered."""

import re
import shutil
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.frames import plan as planning
from lumenmap.frames.parallel import render_on
from lumenmap.frames.render import render, render_block
from lumenmap.jobs.limited import limited
from lumenmap.jobs.workers import Workers
from tests.frames.shows import FULL, digest

ROOT = Path(__file__).resolve().parents[2]


def kept(light: np.ndarray, first: int) -> tuple[int, np.ndarray]:
    return first, light


@pytest.fixture
def work(lay):
    return lay(FULL)


@pytest.fixture
def whole(work):
    return np.concatenate(list(render(work.plan)))


@pytest.mark.parametrize("block", [1, 7, 64, 180])
def test_blocks_of_any_size(work, whole, block):
    assert_array_equal(np.concatenate(list(render(work.plan, block=block))), whole)


def test_any_block_alone_in_any_order(work, whole):
    for first in (150, 3, 90, 0):
        assert_array_equal(render_block(work.plan, first, first + 5), whole[first : first + 5])


def test_tiles_change_nothing(work, whole, monkeypatch):
    monkeypatch.setattr(planning, "BLOCK", 8 * 57)
    tiled = planning.plan(work.show, work.site)
    assert len(tiled.tiles) > 5
    assert_array_equal(np.concatenate(list(render(tiled))), whole)


@pytest.mark.parametrize(
    ("make", "workers"),
    [
        (ThreadPoolExecutor, 1),
        (ThreadPoolExecutor, 2),
        (ProcessPoolExecutor, 1),
        (ProcessPoolExecutor, 2),
    ],
)
def test_any_number_of_workers(work, whole, make, workers):
    with make(workers) as pool:
        got = list(render_on(pool, work.plan, kept, workers=workers, block=8))
    assert [first for first, _ in got] == list(range(0, 180, 8))
    assert_array_equal(np.concatenate([light for _, light in got]), whole)


@pytest.mark.filterwarnings("ignore")
def test_a_dask_clusters_executor(work, whole):
    """The way past one machine: the cluster runs in this process here, tasks travel as bytes."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address="127.0.0.1:0"
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        got = list(render_on(client.get_executor(), work.plan, kept, workers=2, block=16))
    assert_array_equal(np.concatenate([light for _, light in got]), whole)


def test_an_error_in_a_worker_is_said_and_stops_the_rest(work):
    with ThreadPoolExecutor(1) as pool, pytest.raises(ZeroDivisionError):
        list(render_on(pool, work.plan, lambda_that_fails, workers=1))


def lambda_that_fails(light, first):
    return 1 // 0


def test_codes_are_the_same_from_workers(work):
    """What is exported: limited, with the show's first pass done in workers as well."""
    alone = list(limited(work))
    assert 0 < min(block.gain.min() for block in alone) < 0.9, "the limiter has something to do"
    with ProcessPoolExecutor(2) as pool:
        assert digest(limited(work, workers=Workers(pool, 2))) == digest(alone)


_OTHER = """
import sys; sys.path.insert(0, sys.argv[1])
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import load
from tests.frames.shows import digest
print(digest(limited(load(sys.argv[2]))))
"""


def test_other_pythons_give_the_same_digest(work, tmp_path):
    """Every Python that is here and has the package's dependencies."""
    want = digest(limited(work))
    tried = 0
    others = [shutil.which(f"python3.{minor}") for minor in (12, 13, 14)]
    for python in [sys.executable, *filter(None, others)]:
        done = subprocess.run(
            [python, "-c", _OTHER, str(ROOT), str(work.show.file)], capture_output=True, text=True
        )
        if done.returncode and re.search("No module named|command not found", done.stderr):
            continue  # a Python without numpy or pydantic, or a version manager's empty shim
        assert done.returncode == 0, done.stderr
        assert done.stdout.strip() == want, python
        tried += 1
    assert tried >= 1

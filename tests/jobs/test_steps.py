"""Progress tells the truth: it only grows, and isn't full before the last piece of work is."""

import numpy as np
import pytest

from lumenmap.jobs.export import make
from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.jobs.steps import Steps, part_of
from lumenmap.pictures.options import PreviewOptions


def test_pieces_count_by_their_time():
    told = []
    steps = Steps(lambda done, total: told.append(done / total), 1.0, 3.0)
    first = steps.next()
    first(5, 10)
    first(10, 10)
    steps.next()(1, 3)
    assert told == pytest.approx([0.125, 0.25, 0.5], abs=1e-3)


def test_nobody_is_told_nothing():
    assert Steps(None, 1.0).next() is None
    assert part_of(None, 0.5) is None


def test_work_that_ends_early_is_full_then():
    told = []
    part_of(lambda done, total: told.append((done, total)), 0.25)(25, 100)
    assert told == [(25, 25)]


@pytest.fixture(scope="module")
def work(examples):
    return load(examples / "kelder-studio" / "lantern-walk.toml")


@pytest.mark.parametrize("name", ["a.gif", "a.webp", "a.png", "a.html"])
def test_a_preview_tells_how_far_it_is(work, tmp_path, name):
    told = []
    options = PreviewOptions(width=160, seconds=4)
    preview(work, tmp_path / name, options, progress=lambda d, t: told.append(d / t))
    assert (np.diff(told) >= 0).all()
    assert all(t <= 1 for t in told)
    if name in ("a.gif", "a.webp"):  # drawing is told of, too, in steps
        assert len({round(t, 2) for t in told}) > 3
        assert told[0] < 0.5
        assert told[-1] == 1


def test_the_gif_of_a_made_show_is_told_of(work, tmp_path):
    told = []
    made = make(
        work,
        tmp_path / "out",
        PreviewOptions(width=320),
        progress=lambda d, t: told.append(d / t),
    )
    assert made["frames"] == work.show.frames
    assert (np.diff(told) >= 0).all()
    assert len({t for t in told if 0.5 < t < 1}) > 3

"""What a picture takes is estimated well, and refused before anything is drawn or rendered."""

import subprocess
import sys

import pytest

from lumenmap.core import estimate
from lumenmap.pictures.memory import picture_bytes
from lumenmap.pictures.options import PreviewOptions
from tests.small_house import WALL

SHOW = """
show = { house = "house.toml", fps = 20, length = "2 s" }
[[cue]]
[[cue.layer]]
effect = "gradient"
"""
PEAK = """
import sys
from pathlib import Path
from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.pictures.options import PreviewOptions
def peak():
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(x.split()[1]) * 1024 for x in lines if x.startswith("VmHWM"))
project = load(sys.argv[1])
project.site.budgets
before = peak()
preview(project, sys.argv[2], PreviewOptions(width=int(sys.argv[3]), cache=False))
print(peak() - before)
"""


@pytest.fixture
def show(tmp_path):
    (tmp_path / "house.toml").write_text(WALL)
    (tmp_path / "show.toml").write_text(SHOW)
    return tmp_path / "show.toml"


@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read from /proc")
@pytest.mark.parametrize(("name", "width"), [("a.png", 1000), ("a.gif", 640)])
def test_the_estimate_is_near_what_is_taken(show, tmp_path, name, width):
    words = [sys.executable, "-c", PEAK, str(show), str(tmp_path / name), str(width)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    told = picture_bytes(name[1:], PreviewOptions(width=width), 500)
    assert 0.5 < told / int(done.stdout) < 2, (told, done.stdout)


@pytest.mark.parametrize("name", ["a.png", "a.gif", "a.mp4", "a.html"])
def test_too_large_a_picture_is_refused_before_the_show_is_rendered(
    show, lumenmap, monkeypatch, name
):
    monkeypatch.setattr(estimate, "free_bytes", lambda: 300_000_000)
    monkeypatch.setattr("lumenmap.jobs.preview.limited", lambda *a, **k: pytest.fail("rendered"))
    out = show.with_name(name)
    lumenmap("preview", show, "-o", out, "--width", 3840).fails(
        2,
        r"--width: would need [1-9](\.\d)? GB of memory, 300 MB is free: "
        r"make the picture smaller than 3840 × 2160",
    )
    assert not out.exists()


def test_a_long_film_of_many_pixels_is_refused_for_its_codes(show, lumenmap, monkeypatch):
    monkeypatch.setattr(estimate, "free_bytes", lambda: 200_000_000)
    show.write_text(SHOW.replace('"2 s"', '"4 h"'))
    lumenmap("preview", show, "-o", show.with_name("a.mp4"), "--width", 64).fails(
        2,
        r"--seconds: would need \d{3} MB of memory, 200 MB is free: show fewer seconds \(--seconds\)",
    )


def test_the_plan_of_a_long_show_on_many_branches(examples, monkeypatch, tmp_path):
    from lumenmap.core.errors import InputError
    from lumenmap.jobs.limited import limited
    from lumenmap.jobs.project import load

    monkeypatch.setattr(estimate, "free_bytes", lambda: 100_000_000)
    house = examples / "alder-cottage" / "house.toml"
    long = tmp_path / "long.toml"
    long.write_text(
        '[show]\nfps = 30\nlength = "20 h"\n[limit]\nper = "branch"\n[[cue]]\n[[cue.layer]]\n'
        'effect = "still"\n'
    )
    project = load(long, house=house)
    with pytest.raises(
        InputError,
        match=r"long\.toml: would need 850 MB of memory, 100 MB is free: make the show shorter",
    ):
        next(limited(project))

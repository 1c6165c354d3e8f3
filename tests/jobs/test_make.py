"""The main job, end to end: the files, the bytes, the budget, and the power going half-way."""

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

RECORD = ".lumenmap-files.json"
FILES = ["account.txt", "frames.json", "frames.rgb", "preview.gif", "report.json"]


@pytest.fixture(scope="module", params=["feet", "metres"])
def made(request, tmp_path_factory):
    """A started folder and what make wrote for it."""
    import lumenmap
    from lumenmap.pictures.options import PreviewOptions
    from lumenmap.starter.start import start

    folder = tmp_path_factory.mktemp(request.param)
    start(folder, metric=request.param == "metres")
    work = lumenmap.load(folder / "show.toml")
    report = lumenmap.make(work, folder / "out", PreviewOptions(width=160, fps=4))
    return folder, work, report


def read(folder):
    meta = json.loads((folder / "frames.json").read_text())
    codes = np.fromfile(folder / "frames.rgb", "u1")
    return meta, codes.reshape(meta["frames"], meta["pixels"], meta["channels"])


def test_its_files_and_no_other(made):
    folder, _, _ = made
    assert sorted(p.name for p in (folder / "out").iterdir()) == [RECORD, *FILES]


def test_the_side_file_tells_the_bytes(made):
    folder, work, report = made
    meta, codes = read(folder / "out")
    assert meta["format"] == "lumenmap-frames" and meta["version"] == 1
    assert codes.shape == (work.show.frames, len(work.site.pixels), 3)
    assert meta["fps"] == work.show.fps
    digest = hashlib.sha256((folder / "out" / "frames.rgb").read_bytes()).hexdigest()
    assert meta["sha256"] == report["sha256"] == digest
    counts = [line["count"] for line in meta["lines"]]
    assert sum(counts) == meta["pixels"]
    assert [line["first"] for line in meta["lines"]] == list(np.cumsum([0, *counts[:-1]]))
    assert {"name", "first", "count", "universe", "order"} == set(meta["lines"][0])
    assert meta["budget_amps"] >= meta["peak_amps"] > 0


def test_no_frame_is_over_the_budget_by_the_bytes_alone(made):
    """Amps by hand: mA per channel and idle mA, from the bytes (currents of the pixel kind; the sum is by hand [K])."""
    folder, work, report = made
    meta, codes = read(folder / "out")
    kind = work.site.pixels.kind
    amps = np.zeros(len(codes))
    for line in meta["lines"]:
        part = codes[:, line["first"] : line["first"] + line["count"]].astype(float)
        for place, letter in enumerate(line["order"]):
            amps += (
                part[:, :, place].sum(axis=1) / 255 * kind.channel_ma["RGBW".index(letter)] / 1000
            )
    amps += meta["pixels"] * kind.idle_ma / 1000
    assert amps.max() <= meta["budget_amps"] + 1e-12
    assert amps.max() == pytest.approx(meta["peak_amps"], abs=1e-9)
    assert 0 <= report["capped_frames"] <= meta["frames"]
    assert (report["least_gain"] < 1) == (report["capped_frames"] > 0)


def test_the_preview_is_a_moving_picture_of_the_right_length(made):
    folder, work, _ = made
    with Image.open(folder / "out" / "preview.gif") as gif:
        assert gif.size == (160, 90)
        assert gif.n_frames > 1
        total = 0
        for i in range(gif.n_frames):
            gif.seek(i)
            total += gif.info["duration"]
    assert total == pytest.approx(1000 * min(30, work.show.seconds), abs=251)


def test_every_part_alone_gives_the_same(made, tmp_path, lumenmap):
    folder, _, _ = made
    assert lumenmap("export", folder / "show.toml", "-o", tmp_path).code == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        RECORD,
        "account.txt",
        "frames.json",
        "frames.rgb",
    ]
    ours = (tmp_path / "frames.rgb").read_bytes()
    assert ours == (folder / "out" / "frames.rgb").read_bytes()
    assert lumenmap("check", folder / "show.toml").code == 0
    assert lumenmap("check", folder / "out" / "frames.json").code == 0
    gif = tmp_path / "a.gif"
    assert lumenmap("preview", folder / "show.toml", "-o", gif, "--width", "160").code == 0
    with Image.open(gif) as picture:
        assert picture.size == (160, 90)


def test_reports_speak_json_when_asked(made, tmp_path, lumenmap):
    folder, _, report = made
    said = json.loads(lumenmap("check", folder / "show.toml", "--json").out)
    assert said["capped_frames"] == report["capped_frames"]
    assert json.loads(lumenmap("export", folder / "show.toml", "-o", tmp_path, "--json").out)


def test_a_line_too_long_for_the_rate_is_said_with_what_it_can_take(made, tmp_path, lumenmap):
    """WS281x: 24 bits of 1.25 us are 30 us a pixel, plus reset (WS2812B data sheet, 1.25 us a bit [P2])."""
    folder, work, _ = made
    line = max(work.site.pixels.lines, key=lambda span: span.count)
    most = 1e6 / (line.count * 30 + work.site.pixels.kind.reset_us)
    (tmp_path / "house.toml").write_text((folder / "house.toml").read_text())
    (tmp_path / "show.toml").write_text(
        '[show]\nhouse = "house.toml"\nfps = 240\nlength = "0.1 s"\n'
        '[[cue]]\n[[cue.layer]]\neffect = "gradient"\nopacity = 0.2\n'
    )
    done = lumenmap("check", tmp_path / "show.toml")
    if most < 240:
        assert done.code == 1, done
        assert (
            f'"{line.name}" ({line.count} pixels, at most {int(10 * most) / 10:g} frames/s)'
            in done.out
        )
    else:
        assert done.code == 0, done


#: Makes a show in each of the folders named, in a fork that dies at its first write, second, …
KILLED = """
import os, signal, sys
from pathlib import Path
import lumenmap.controller.files.frames as frames
import lumenmap.pictures.encode.gif as gif
import lumenmap.pictures.drawn.preview
import lumenmap.jobs.export
from lumenmap.cli import main
from lumenmap.core import parallel
parallel.processors = lambda: 1  # every write in one process, in the same order each time
calls = at = 0
def dying(function):
    def call(*args, **kw):
        global calls
        calls += 1
        if calls == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return function(*args, **kw)
    return call
frames.FrameWriter.write = dying(frames.FrameWriter.write)
frames.FrameWriter.close = dying(frames.FrameWriter.close)
gif.write_gif = dying(gif.write_gif)
Path.write_text = dying(Path.write_text)
Path.replace = dying(Path.replace)
Path.touch = dying(Path.touch)
for folder in sys.argv[1:]:
    at += 1
    if not (fork := os.fork()):
        os.chdir(folder)
        sys.argv = "lumenmap make show.toml -o out --width 64".split()
        sys.stdout = sys.stderr
        main()
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(fork, 0)[1]), flush=True)
"""
SHOW = """
show = { house = "house.toml", fps = 10, length = "4 s", seed = 3 }
[[cue]]
[[cue.layer]]
effect = "swell"
opacity = 1
"""
WRITES = range(1, 14)


@pytest.fixture(scope="module")
def killed(tmp_path_factory):
    """Folders with a made show, changed and made again, with how that ended; and the first set."""
    import lumenmap
    from lumenmap.pictures.options import PreviewOptions
    from lumenmap.starter.start import start

    first = tmp_path_factory.mktemp("killed")
    start(first, metric=True)
    (first / "show.toml").write_text(SHOW)
    lumenmap.make(lumenmap.load(first / "show.toml"), first / "out", PreviewOptions(width=64))
    before = {p.name: p.read_bytes() for p in (first / "out").iterdir()}
    (first / "show.toml").write_text(SHOW.replace("opacity = 1", "opacity = 0.5"))
    folders = [first.with_name(f"{first.name}-{at}") for at in WRITES]
    for folder in folders:
        shutil.copytree(first, folder)
    done = subprocess.run(
        [sys.executable, "-c", KILLED, *folders],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},  # nothing is forked but one thread
    )
    return list(zip(folders, map(int, done.stdout.split()), strict=True)), before, done.stderr


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
@pytest.mark.parametrize("at", WRITES)
def test_killed_at_any_write_the_folder_holds_one_whole_set(killed, at, lumenmap):
    """SIGKILL at the n-th write or rename; afterwards the four files belong together."""
    ends, before, told = killed
    folder, code = ends[at - 1]
    assert code in (0, -signal.SIGKILL), told
    assert lumenmap("check", folder / "out" / "frames.json").code == 0
    after = {p.name: p.read_bytes() for p in (folder / "out").iterdir()}
    assert sorted(after) == [RECORD, *FILES]
    report, meta = json.loads(after["report.json"]), json.loads(after["frames.json"])
    assert report["sha256"] == meta["sha256"] == hashlib.sha256(after["frames.rgb"]).hexdigest()
    if code and at <= 5:
        assert after == before


def test_some_are_killed_before_their_files_are_in_place_and_some_are_not(killed):
    ends, before, _ = killed
    new = [(f / "out" / "frames.rgb").read_bytes() != before["frames.rgb"] for f, _ in ends]
    assert new == sorted(new) and 5 <= new.index(True) < len(new)
    assert {code for _, code in ends} == {0, -signal.SIGKILL}

import subprocess
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.controller.files.registry import format_named
from lumenmap.controller.flash.caps import caps_of
from lumenmap.controller.flash.image import flash_image
from lumenmap.core.errors import CheckError, InputError
from tests.controller.board.conftest import (
    DARK,
    DECODER,
    ERROR,
    PLAYER,
    PLAYING,
    one_cap,
    show_of,
)


def light(shown):
    return [s for s in shown if s.state == PLAYING]


def test_every_frame_at_its_time_and_round_again(board):
    """Frame i is due i/fps after the first: absolute, so that nothing drifts over loops."""
    frames = show_of(fps=29.97)
    b = board(now=0xFFFFF000)  # the clock's 32 bits run over meanwhile
    b.file(0, flash_image(frames))
    b.play(0)
    got = light(b.run(20_000).shown())
    assert len(got) == 600
    codes = frames.flat()
    assert all(s.codes == codes[i % 100].tobytes() for i, s in enumerate(got))
    times = np.array([(s.ms - got[0].ms) & 0xFFFFFFFF for s in got])
    due = np.arange(len(got)) * 1000 / 29.97
    assert np.abs(times - due).max() <= 1.5


@pytest.mark.parametrize("channels", [3, 4])
@pytest.mark.parametrize("level", [255, 100, 1, 0])
def test_brightness_rounds_down(board, level, channels):
    frames = show_of(channels=channels)
    b = board()
    b.file(0, flash_image(frames))
    b.level(level)
    b.play(0)
    got = light(b.run(1000).shown())
    expected = (frames.flat()[0].astype(int) * (level + 1)) >> 8
    assert got[0].codes == expected.astype(np.uint8).tobytes()


def test_show_that_hangs_drops_frames_and_keeps_its_time(board):
    frames = show_of()
    b = board()
    b.file(0, flash_image(frames))
    b.play(0)
    b.run(500).shown()
    b.jump(400, steps=0)  # something else kept the board
    got = light(b.run(500).shown())
    last = got[-1]
    assert b.dropped() in range(13, 18)
    begun = 2  # ms until the first frame was ready
    assert last.codes == frames.flat()[(last.ms - begun) * 40 // 1000 % 100].tobytes()
    b.jump(60_000, steps=0)
    assert len(light(b.run(1000).shown())) in (40, 41), "after an age it goes on from where it was"


def test_change_of_image_has_no_gap(board):
    first, second = show_of(), show_of(seed=2)
    b = board()
    b.file(0, flash_image(first))
    b.file(1, flash_image(second))
    b.play(0)
    b.run(700)
    b.play(1)
    b.run(1300)
    got = b.shown()[1:]  # what comes first is the black of the beginning
    assert {s.state for s in got} == {PLAYING}
    gaps = np.diff([s.ms for s in got])
    assert set(gaps.tolist()) == {25}
    k = next(i for i, s in enumerate(got) if s.codes[0] == 2)
    assert [s.codes for s in got[:k]] == [f.tobytes() for f in first.flat()[:k]]
    assert [s.codes for s in got[k:]] == [
        second.flat()[i % 100].tobytes() for i in range(len(got) - k)
    ]
    assert k <= 31, "the other one is soon ready"


def test_stop_is_black_and_dark(board):
    b = board()
    b.file(0, flash_image(show_of()))
    b.play(0)
    b.run(200)
    b.stop()
    assert not any(b.run(200).shown()[-1].codes) and b.state() == DARK


def test_black_before_anything_is_known_and_where_there_is_no_image(board):
    b = board(memory=400, lines=2)
    assert [s.codes for s in b.shown()] == [bytes(200)] * 2, "each line, as long as there is room"
    b.play(0)
    b.run(10)
    assert b.state() == ERROR and b.flashes() == 6


def test_reading_that_fails_is_black_and_tried_again(board):
    frames = show_of()
    b = board()
    b.file(0, flash_image(frames))
    b.play(0)
    b.run(1500).shown()
    b.fail(1)
    b.run(1000)
    assert b.state() == ERROR and b.error() == -1 and not any(b.shown()[-1].codes)
    b.fail(0)
    got = b.run(7000).shown()
    assert b.state() == PLAYING and light(got)[0].codes == frames.flat()[0].tobytes()


def test_damage_in_the_second_second_ends_the_first_in_black(board):
    frames = show_of()
    data = bytearray(flash_image(frames))
    data[-9] ^= 16
    b = board()
    b.file(0, data)
    b.play(0)
    got = b.run(4000).shown()
    seen = [s.codes for s in got if any(s.codes)]
    assert seen == [f.tobytes() for f in frames.flat()[:80]]
    assert b.state() == ERROR and b.error() == -3 and b.flashes() == 5


def test_frame_over_its_caps_is_not_shown(board):
    """The image is sound, but its caps are another house's: black, and it says so."""
    frames = show_of()
    peak = int(caps_of(replace(frames, meta={"caps": one_cap(1 << 40, frames)})).sums(frames).max())
    data = bytearray(flash_image(replace(frames, meta={"caps": one_cap(peak, frames)})))
    at = 76 + 24 * 2
    assert int.from_bytes(data[at : at + 8], "little") == peak
    import struct
    import zlib

    size = struct.unpack_from("<I", data, 8)[0]
    struct.pack_into("<Q", data, at, peak - 1)
    struct.pack_into("<I", data, size - 4, zlib.crc32(data[: size - 4]))
    b = board()
    b.file(0, data)
    b.play(0)
    sums = caps_of(replace(frames, meta={"caps": one_cap(peak, frames)})).sums(frames)[:, 0]
    first = int((sums == peak).argmax())
    seen = [s.codes for s in b.run(3000).shown() if any(s.codes)]
    assert seen == [f.tobytes() for f in frames.flat()[:first]] and b.error() == -5


def test_exporter_refuses_frames_over_their_own_caps():
    frames = show_of()
    with pytest.raises(CheckError, match='add up to .* for "all", over its cap of 1000'):
        flash_image(replace(frames, meta={"caps": one_cap(1000, frames)}))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"names": []}, "has 0 names and 1 limits"),
        ({"weights": [[1, 1, 1]]}, "expected weights for 2 lines of 3 channels"),
        ({"zones": [{"pixels": 9, "share": [1]}]}, "zones have 9 pixels in all; expected 50"),
        ({"zones": [{"pixels": 50, "share": []}]}, "expected 1 shares in each zone"),
        ({"limits": [-1]}, "limits 0 to 2.63 - 1"),
        ({"zones": [{"pixels": 50, "share": [70000]}]}, "weights and shares are 0 to 65535"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_caps_that_contradict_the_frames_are_refused(change, message):
    frames = show_of()
    caps = {**one_cap(1 << 40, frames), **change}
    with pytest.raises(InputError, match=message):
        flash_image(replace(frames, meta={"caps": caps}))


def test_image_too_large_for_the_memory_is_refused_not_overrun(board):
    b = board(memory=299)  # two frames of 50 pixels are 300
    b.file(0, flash_image(show_of()))
    b.play(0)
    b.run(50)
    assert b.state() == ERROR and b.error() == -4
    b = board(memory=300)
    b.file(0, flash_image(show_of()))
    b.play(0)
    assert b.run(50).state() == PLAYING


def test_lamp_flashes_as_often_as_it_says(board):
    b = board()
    b.file(0, flash_image(show_of()))
    b.play(0)
    b.run(100)
    assert b.flashes() == 1
    lit = []
    for _ in range(1600):
        b.run(1)
        lit.append(b.lamp())
    assert sum(lit) == 200 and sum(np.diff(lit) == 1) <= 1


def test_example_shows_play_as_exported(library, tmp_path, lumenmap, examples):
    """The newcomer's way: export, make, run; what the simulator shows is frames.rgb."""
    out = tmp_path / "board"
    done = lumenmap(
        "export", examples / "kelder-studio" / "lantern-walk.toml", "--format", "board", "-o", out
    )
    assert done.code == 0, done.err
    made = subprocess.run(["make", "-C", out], capture_output=True, text=True)
    assert made.returncode == 0 and "warning" not in made.stderr, made.stderr
    command = [out / "simulator", out, "--fast", "--raw", tmp_path / "raw", "--seconds", "21"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    true = (out / "frames.rgb").read_bytes()
    assert (tmp_path / "raw").read_bytes() == (2 * true + true)[: 525 * 630], "twice and a bit"
    assert "playing: image 0, Lantern Walk" in told


def test_folder_of_a_board_holds_all_that_is_shipped(tmp_path):
    frames = show_of(counts=(40, 10))
    made = format_named("board")
    assert made.suffix == ".lmfi" and made.beside is not None
    names = made.beside(frames)
    shipped = {p.relative_to(PLAYER).as_posix() for p in PLAYER.rglob("*") if p.is_file()}
    shipped |= {p.name for folder in (DECODER, PLAYER.parent / "text") for p in folder.iterdir()}
    assert set(names) == shipped | {"board.h"}
    header = names["board.h"].decode()
    assert "#define BOARD_LONGEST 40u" in header and "#define BOARD_MEMORY 300u" in header


def test_names_that_would_end_a_comment_do_not(tmp_path):
    frames = show_of(counts=(5,))
    line = replace(frames.lines[0], name='evil */ int x; /* "\\ \n')
    header = format_named("board").beside(replace(frames, lines=(line,)))["board.h"].decode()
    assert header.count("*/") == 4 and "\n int" not in header

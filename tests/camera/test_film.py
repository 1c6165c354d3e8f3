"""Short films, by ffmpeg, read: clock, shake, numbers, faults; and what isn't such a film."""

import shutil
import subprocess

import cv2
import numpy as np
import pytest

from lumenmap.camera.blinks.blinking import FLASHES, FPS, LEAD, Blinking
from lumenmap.camera.faults.report import diagnose
from lumenmap.camera.film.clock import find_clock
from lumenmap.camera.film.read import read_film
from lumenmap.camera.film.spots import find_spots
from lumenmap.camera.film.still import Still
from lumenmap.core.errors import InputError
from lumenmap.site import Site
from tests.camera.filming import Scene, Take, film
from tests.camera.houses import house_text, on_holes, wired

needs_ffmpeg = pytest.mark.skipif(not shutil.which("ffmpeg"), reason="no ffmpeg to make films with")


def small_house(folder):
    """An invented house with few pixels, far apart, for a short film."""
    text = house_text(0).replace("hole_spacing = 0.1", "hole_spacing = 0.3")
    file = folder / "house.toml"
    file.write_text(text)
    return Site.read(file)


def filmed(folder, site, wires, orders=None, seed=3, **more):
    """A film 640 wide, hand-held, with a neighbour's lights; and its scene."""
    orders = orders or {s.name: (0, 1, 2) for s in site.pixels.lines}
    blinking = Blinking(len(site.pixels), 3, 2)
    light = on_holes(site, blinking.light(0.3), wires, set(), orders)
    take = Take(
        seed=seed,
        width=640,
        height=360,
        shake=7.0,
        hidden=0.15,
        reflections=3,
        crf=24,
        before=1.3,
        after=0.3,
        bearing=0.2,
        **more,
    )
    scene = Scene(site, take)
    film(folder / "film.mp4", scene, light)
    return folder / "film.mp4", scene, blinking


@needs_ffmpeg
def test_a_film_of_a_wrong_house_is_read_and_the_faults_named(tmp_path, lumenmap):
    """One edge reversed on one line, the colours in another order on the other."""
    site = small_house(tmp_path)
    rng = np.random.default_rng(1)
    wires, _, orders, _ = wired(site, None, rng)
    wires["gable"].reverse()
    orders["long"] = (1, 0, 2)
    path, scene, blinking = filmed(tmp_path, site, wires, orders)
    got = read_film(path, blinking)
    # The clock: blinking begins 1.3 s into the film; a frame's light is from half a frame later.
    assert got.clock.start == pytest.approx(1.3, abs=0.03)
    assert got.lost == 0
    # Every visible pixel's number is found, few wrong ones among them.
    shown = {
        span.first + k
        for span in site.pixels.lines
        for k, hole in enumerate(wires[span.name])
        if scene.visible[hole]
    }
    read = set(got.spots.number.tolist())
    assert len(shown & read) >= 0.9 * len(shown)
    found = diagnose(site, got)
    assert [(f.kind, f.lines) for f in found.faults] == [
        ("other end", ("gable",)),
        ("colours", ("long",)),
    ]
    # The house file says RGB; red and green are exchanged.
    assert 'order = "GRB"' in found.faults[1].change[0]
    away = np.linalg.norm(found.standing.found.shot.position - scene.camera.position)
    assert away < 1.0
    # What wasn't seen is named, by line and counted from 1.
    words = found.words(site)
    spans = {span.name: span for span in site.pixels.lines}
    told = set()
    for line in words[words.index(next(w for w in words if w.startswith("Not seen"))) + 1 :]:
        name, listed = line.strip().removeprefix("line ").split(": ")
        ends = [[int(n) for n in part.split(" to ")] for part in listed.split(", ")]
        first = spans[name.strip('"')].first
        told |= {first + n - 1 for a in ends for n in range(a[0], a[-1] + 1)}
    assert told == set(range(len(site.pixels))) - read


@needs_ffmpeg
def test_a_film_without_flashes_is_refused(tmp_path):
    path = tmp_path / "film.mp4"
    source = "color=c=0x202020:s=640x360:r=30:d=16,noise=alls=4:allf=t"
    subprocess.run(
        [
            "ffmpeg",
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            source,
            "-c:v",
            "libx264",
            "-preset",
            "ultrafast",
            "-pix_fmt",
            "yuv420p",
            str(path),
        ],
        check=True,
    )
    with pytest.raises(InputError, match="doesn't show three flashes"):
        read_film(path, Blinking(16, 3, 2))


def test_what_is_no_film_is_refused(tmp_path):
    for name, data in (
        ("a.mp4", b"not a film"),
        ("b.mp4", b""),
        ("c.mov", b"\x00\x00\x00\x18ftypqt  "),
    ):
        (tmp_path / name).write_bytes(data)
        with pytest.raises(InputError, match="isn't a film|can't be read as a film"):
            read_film(tmp_path / name, Blinking(10))
    with pytest.raises(InputError, match="no such film"):
        read_film(tmp_path / "none.mp4", Blinking(10))


def cells_of(blinking, start, times, rng, offset=20.0):
    """Brightness of 100 cells, of which 30 follow the blinking's flashes."""
    cells = offset + rng.normal(0, 0.2, (len(times), 100))
    for picture in blinking.pictures:
        if picture.shows == "on":
            on = (times >= start + picture.start) & (times < start + picture.stop)
            cells[np.ix_(on, np.arange(30))] += 8
    # A neighbour's lights blink once a second, on and on.
    cells[:, 40:44] += 25 * ((times[:, None] % 1.0) < 0.5)
    return cells.astype(np.float32)


@pytest.mark.parametrize("start", [0.5, 2.34, 7.77])
def test_the_clock_is_found_beside_other_blinking(start):
    blinking = Blinking(200)
    rng = np.random.default_rng(3)
    times = np.arange(0, start + blinking.seconds + 1, 1 / 29.97)
    times = times + rng.uniform(-0.004, 0.004, len(times))  # phones vary their rate
    clock = find_clock(np.sort(times), cells_of(blinking, start, times, rng), blinking)
    assert clock.start == pytest.approx(start, abs=0.025)


@pytest.mark.parametrize("seed", range(4))
def test_the_clock_is_heard_though_a_hand_shakes(seed):
    """Edges of lit windows change cells by 20 codes as the hand shakes, flashes twelve others by 3."""
    blinking = Blinking(200)
    rng = np.random.default_rng(seed)
    times = np.arange(0, 2.34 + blinking.seconds + 1, 1 / 30)
    cells = 20 + rng.normal(0, 0.2, (len(times), 100))
    for picture in blinking.pictures[:FLASHES]:
        on = (times >= 2.34 + picture.start) & (times < 2.34 + picture.stop)
        cells[np.ix_(on, np.arange(12))] += 3
    # As in the films: five slow waves each (Hz), the slowest the largest.
    rates, phases = rng.uniform(0.15, 1.6, (40, 5, 1)), rng.uniform(0, 2 * np.pi, (40, 5, 1))
    waves = np.sin(2 * np.pi * rates * times + phases) / rates
    cells[:, 50:90] += 20 * (waves / (1 / rates).sum(1, keepdims=True)).sum(1).T
    clock = find_clock(times, cells.astype(np.float32), blinking)
    assert clock.start == pytest.approx(2.34, abs=0.025)


def wall(rng):
    """A dim picture, larger than a frame, with boards, windows and doors of its own."""
    made = np.full((480, 780), 14, np.float32)
    for _ in range(40):
        x, y, wide, high = rng.integers((0, 0, 15, 10), (720, 430, 120, 60))
        made[y : y + high, x : x + wide] += rng.uniform(-10, 30)
    return cv2.GaussianBlur(np.clip(made, 2, 90), (0, 0), 1.2)


def frame_of(picture, x, y, rng):
    """A frame, 640 by 360, whose corner lies at a place of the picture, with a phone's noise."""
    move = np.array([[1, 0, -x], [0, 1, -y]], np.float32)
    frame = cv2.warpAffine(picture, move, (640, 360))
    return np.clip(frame + rng.normal(0, 2.5, frame.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("seed", range(2))
def test_a_jerk_of_the_hand_is_followed(seed):
    """60 px from one frame to the next, and back; before and after it a hand's slow shake."""
    rng = np.random.default_rng(seed)
    picture = wall(rng)
    still = Still(frame_of(picture, 70, 60, rng))
    for x, y in ((0, 0), (1.5, -0.5), (55, -23), (57, -22), (-3, 2), (-60, 12), (0.4, 0.3)):
        move = still.move(frame_of(picture, 70 + x, 60 + y, rng))
        assert move is not None
        middle = np.array([320, 180])
        assert np.abs(move @ [*middle, 1] - (middle - (x, y))).max() < 0.25
    assert still.lost == 0


def test_a_frame_of_something_else_is_lost():
    rng = np.random.default_rng(1)
    still = Still(frame_of(wall(rng), 70, 60, rng))
    assert still.move(frame_of(wall(rng), 70, 60, rng)) is None
    assert still.lost == 1


def test_a_film_that_ends_too_soon_is_told():
    blinking = Blinking(200)
    rng = np.random.default_rng(3)
    times = np.arange(0, 12, 1 / 30)
    cells = cells_of(blinking, 1.0, times, rng)
    with pytest.raises(InputError, match="s before the blinking does"):
        find_clock(times, cells, blinking)


def test_of_two_rounds_the_whole_one_is_read():
    """Sent in a loop, and filmed for a round and a half."""
    blinking = Blinking(40)
    rng = np.random.default_rng(3)
    times = np.arange(0, 1.5 * blinking.seconds + 1, 1 / 30)
    cells = cells_of(blinking, 1.0, times, rng)
    again = cells_of(blinking, 1.0 + blinking.seconds, times, rng)
    late = times > blinking.seconds
    cells[late] = again[late]
    assert find_clock(times, cells, blinking).start == pytest.approx(1.0, abs=0.03)


def test_spots_are_found_to_a_fraction_of_a_pixel():
    blinking = Blinking(64, 3, 2)
    rng = np.random.default_rng(6)
    h, w = 80, 160
    own = np.flatnonzero(blinking.turns == 1)
    places = np.stack(
        [4.5 + 12.3 * (np.arange(len(own)) % 12), 8.2 + 22.4 * (np.arange(len(own)) // 12)], 1
    )
    y, x = np.mgrid[0:h, 0:w] + 0.5
    differences = rng.normal(0, 1.2, (blinking.bits + 1, h, w)).astype(np.float32)
    for n, (px, py) in zip(own, places, strict=True):
        spot = 60 * np.exp(-((x - px) ** 2 + (y - py) ** 2) / 3)
        for place in range(blinking.bits + 1):
            differences[place] += spot if blinking.codes[n, place] else -spot
    spots, _ = find_spots(differences, 1, blinking)
    assert sorted(spots.number.tolist()) == own.tolist()
    order = np.argsort(spots.number)
    assert np.abs(spots.place[order] - places).max() < 0.35


def test_pictures_in_which_nothing_blinks_have_no_spots():
    blinking = Blinking(64, 3, 2)
    for differences in (np.zeros, np.ones):
        spots, blinks = find_spots(
            differences((blinking.bits + 1, 40, 40), np.float32), 0, blinking
        )
        assert len(spots.number) == len(spots.place) == 0
        assert blinks.shape == (40, 40)


def test_two_spots_on_each_other_are_left_out():
    """Where two numbers mix, bits are uneven: no number is better than a wrong one."""
    blinking = Blinking(64, 3, 2)
    y, x = np.mgrid[0:40, 0:40] + 0.5
    differences = np.zeros((blinking.bits + 1, 40, 40), np.float32)
    for n, px in ((2, 19.0), (40, 21.0)):
        spot = 60 * np.exp(-((x - px) ** 2 + (y - 20) ** 2) / 6)
        for place in range(blinking.bits + 1):
            differences[place] += (1 if blinking.codes[n, place] else -1) * spot
    spots, _ = find_spots(differences, 0, blinking)
    assert not set(spots.number.tolist()) - {2, 40}


def test_the_blinking_has_a_dark_beginning():
    light = Blinking(30).light(1.0)
    assert not light[: round(LEAD * FPS)].any()

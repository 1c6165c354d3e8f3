"""Short films, by ffmpeg, read: clock, shake, numbers, faults; and what isn't such a film."""

import shutil
import subprocess
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from lumenmap.camera.blinks.blinking import FPS, LEAD, Blinking
from lumenmap.camera.faults.diagnose import diagnose
from lumenmap.camera.faults.report import report_lines
from lumenmap.camera.film import read
from lumenmap.camera.film.frames import film_frames
from lumenmap.camera.film.lights import Lights
from lumenmap.camera.film.read import Filmed, read_film
from lumenmap.camera.film.spots import Spots, find_spots
from lumenmap.camera.film.still import Still
from lumenmap.core.errors import InputError
from lumenmap.site import Site
from tests.camera.filming import Scene, film
from tests.camera.houses import house_text, on_holes, wired
from tests.camera.standing import Take

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


@dataclass
class Wrong:
    """A film of a wrong house, what is read from it, and where each of its frames lay."""

    site: Site
    wires: dict
    path: Path
    scene: Scene
    blinking: Blinking
    read: Filmed
    moves: dict

    @property
    def shown(self):
        """The pixels that the film shows."""
        return {
            span.first + k
            for span in self.site.pixels.lines
            for k, hole in enumerate(self.wires[span.name])
            if self.scene.visible[hole]
        }


@pytest.fixture(scope="module")
def wrong(tmp_path_factory):
    """One edge reversed on one line, the colours in another order on the other."""
    folder = tmp_path_factory.mktemp("wrong")
    site = small_house(folder)
    wires, _, orders, _ = wired(site, None, np.random.default_rng(1))
    wires["gable"].reverse()
    orders["long"] = (1, 0, 2)
    path, scene, blinking = filmed(folder, site, wires, orders)
    usual, moves = Still.move, {}

    def move(still, bright, *, lit=True):
        moves[hash(bright.tobytes())] = found = usual(still, bright, lit=lit)
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Still, "move", move)
        got = read_film(path, blinking)
    return Wrong(site, wires, path, scene, blinking, got, moves)


FAULTS = [("other end", ("gable",)), ("colours", ("long",))]


@needs_ffmpeg
def test_a_film_of_a_wrong_house_is_read_and_the_faults_named(wrong):
    site, scene, got, shown = wrong.site, wrong.scene, wrong.read, wrong.shown
    # The clock: blinking begins 1.3 s into the film; a frame's light is from half a frame later.
    assert got.clock.start == pytest.approx(1.3, abs=0.03)
    assert got.lost == 0
    # Every visible pixel's number is found, few wrong ones among them.
    told = set(got.spots.number.tolist())
    assert len(shown & told) >= 0.9 * len(shown)
    found = diagnose(site, {"film.mp4": got})
    assert [(f.kind, f.lines) for f in found.faults] == FAULTS
    # The house file says RGB; red and green are exchanged.
    assert 'order = "GRB"' in found.faults[1].change[0]
    away = np.linalg.norm(found.films[0].shot.position - scene.camera.position)
    assert away < 1.0
    # What wasn't seen is named, by line and counted from 1.
    assert unseen(site, found) == set(range(len(site.pixels))) - told
    # A light elsewhere that blinks the number of a hidden pixel doesn't count as seeing it.
    hidden = min(unseen(site, found))
    spots = got.spots
    more = Spots(np.array([hidden]), np.array([[20.0, 30.0]]), np.array([50.0]))
    other = diagnose(site, {"film.mp4": replace(got, spots=Spots.together([spots, more]))})
    assert hidden in unseen(site, other)


@needs_ffmpeg
def test_a_picture_that_is_missing_is_taken_from_its_inverse(wrong, monkeypatch):
    """As where the hand jerked for a fifth of a second; of one picture in each pass.

    Each frame lies where it lay when the whole film was read.
    """
    start, blinking = wrong.read.clock.start, wrong.blinking
    pictures = {
        hash(frame.bright.tobytes()): read._picture_at(frame.time - start, blinking)
        for frame in film_frames(wrong.path)
    }

    def without(*gone):
        def move(_, bright, *, lit=True):
            picture = pictures[hash(bright.tobytes())]
            lost = (picture.turn, picture.place, picture.inverse) in gone
            return None if lost else wrong.moves[hash(bright.tobytes())]

        for way in (Still, Lights):
            monkeypatch.setattr(way, "move", move)
        return read_film(wrong.path, blinking)

    mended = without((0, 1, False), (1, 2, True))
    assert len(wrong.shown & set(mended.spots.number.tolist())) >= 0.9 * len(wrong.shown)
    found = diagnose(wrong.site, {"film.mp4": mended})
    assert [(f.kind, f.lines) for f in found.faults] == FAULTS
    with pytest.raises(InputError, match="2 of the blinking's pictures can't be used"):
        without((0, 1, False), (0, 1, True))


def unseen(site, found):
    """The pixels of the house that a diagnosis says weren't seen."""
    words = report_lines(site, found)
    spans = {span.name: span for span in site.pixels.lines}
    told = set()
    for line in words[words.index("Not seen, so not checked:") + 1 :]:
        if line.startswith("To check these"):
            break
        name, listed = line.strip().removeprefix("line ").split(": ")
        ends = [[int(n) for n in part.split(" to ")] for part in listed.split(", ")]
        first = spans[name.strip('"')].first
        told |= {first + n - 1 for a in ends for n in range(a[0], a[-1] + 1)}
    return told


@needs_ffmpeg
def test_a_film_in_which_nothing_but_the_lights_is_seen_is_read_by_them(tmp_path):
    """No window, no street light: there is nothing that stands still to hold the frames by."""
    site = small_house(tmp_path)
    wires, _, _, _ = wired(site, None, np.random.default_rng(1))
    wires["gable"].reverse()
    path, scene, blinking = filmed(
        tmp_path, site, wires, background=0.0, neighbour=False, troubles=("breathing",)
    )
    got = read_film(path, blinking)
    shown = {
        span.first + k
        for span in site.pixels.lines
        for k, hole in enumerate(wires[span.name])
        if scene.visible[hole]
    }
    assert len(shown & set(got.spots.number.tolist())) >= 0.9 * len(shown)
    found = diagnose(site, {"film.mp4": got})
    assert [(f.kind, f.lines) for f in found.faults] == [("other end", ("gable",))]


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
    # A film whose copying was broken off has no table of contents: ISO/IEC 14496-12.
    (tmp_path / "cut.mp4").write_bytes(b"\0\0\0\x18ftypisom" + bytes(5000))
    with pytest.raises(InputError, match="it is cut short or damaged; copy it once more"):
        read_film(tmp_path / "cut.mp4", Blinking(10))


@needs_ffmpeg
def test_a_film_whose_pixels_are_not_square_is_refused(tmp_path):
    """Its camera stood a third nearer, and all was well."""
    path = tmp_path / "wide.mp4"
    source = ["-f", "lavfi", "-i", "color=black:s=720x540:d=0.2", "-vf", "setsar=4/3"]
    subprocess.run(["ffmpeg", "-v", "error", *source, str(path)], check=True)
    with pytest.raises(InputError, match=r"pixels 1\.33 times as wide as high"):
        read_film(path, Blinking(10))


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

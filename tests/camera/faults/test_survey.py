"""The command on several films: what it says, writes and refuses; the films' spots are made up."""

import json
import shutil
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from lumenmap.camera.blinks.blinking import FPS, Blinking
from lumenmap.camera.film.read import film_memory
from lumenmap.core.errors import InputError
from lumenmap.jobs.survey import film_names, kept_paths, read_survey
from tests.camera.faults.traces import filmed, house, trace
from tests.camera.houses import house_text, wired

#: Vermilion, the first of the faults' colours.
FAULT = (0xD5, 0x5E, 0x00)
#: The dark pixels of line "long", from 1.
DARK = [47, 53, 83, 101]


@pytest.fixture
def films(tmp_path, monkeypatch):
    """A house with four dark pixels, and films of it, read without reading."""
    site = house(0)
    wires, dark, *_ = wired(site, "dark", np.random.default_rng(0))
    (tmp_path / "house.toml").write_text(house_text(0))
    shown = {}
    for k, (name, at) in enumerate((("front.mp4", 0.4), ("left.mp4", -0.4))):
        (tmp_path / name).write_bytes(name.encode())
        shown[name] = filmed(
            trace(site, wires, 50 + k, bearing=at, hidden=0.0, hung=5, dark=dark, missed=0.0)
        )
    (tmp_path / "cat.mp4").write_bytes(b"a cat")

    def read(path, *_):
        if path.name not in shown:
            raise InputError("doesn't show three flashes", file=path)
        return shown[path.name]

    monkeypatch.setattr("lumenmap.jobs.survey.read_film", read)
    return tmp_path


def asked(folder, *names, also=()):
    return ("survey", folder, *(x for n in names for x in ("--film", folder / n)), *also)


def test_films_are_judged_together(films, lumenmap):
    done = lumenmap(*asked(films, "front.mp4", "left.mp4", "cat.mp4"))
    assert done.code == 1, done.err
    lines = done.out.splitlines()
    assert lines[0].startswith("front.mp4: ")
    assert lines[1].startswith("left.mp4: ")
    assert lines[2].startswith("Together ")
    assert lines[3] == "cat.mp4 isn't used: doesn't show three flashes"
    assert 'of line "long" stay dark, though the neighbours light' in lines[4]


def test_films_left_out_for_the_same_reason_are_one_finding(films, lumenmap):
    (films / "dog.mp4").write_bytes(b"")
    done = lumenmap(*asked(films, "front.mp4", "cat.mp4", "dog.mp4"))
    assert done.code == 1, done.err
    assert (
        "cat.mp4 isn't used, and neither is dog.mp4: doesn't show three flashes"
        in done.out.splitlines()
    )


def test_as_json(films, lumenmap):
    done = lumenmap(
        *asked(films, "left.mp4", "front.mp4", also=("--json", "-o", films / "found.png"))
    )
    assert done.code == 1, done.err
    told = json.loads(done.out)
    assert [f["film"] for f in told["films"]] == ["left.mp4", "front.mp4"]
    (fault,) = told["faults"]
    assert (fault["kind"], fault["lines"]) == ("dark", ["long"])
    assert [a for a, b in fault["pixels"]["long"] if a == b] == DARK
    assert told["seen"] <= told["pixels"] == len(house(0).pixels)
    assert told["wrote"] == [f"wrote {films / 'found.png'}"]


def test_the_picture_has_a_panel_for_each_film(films, lumenmap):
    done = lumenmap(*asked(films, "front.mp4", "left.mp4", also=("-o", films / "found.png")))
    assert done.code == 1, done.err
    with Image.open(films / "found.png") as picture:
        assert picture.size == (1280, 2 * 720)
        both = np.asarray(picture.convert("RGB"))
    lamps = (both == FAULT).all(-1)
    assert lamps[100:720].sum() > 100 < lamps[720:].sum()


def test_if_no_film_is_of_use_each_says_why(films, lumenmap):
    shutil.copy(films / "cat.mp4", films / "dog.mp4")
    (films / "dog.mp4").write_bytes(b"a dog")
    done = lumenmap(*asked(films, "cat.mp4", "dog.mp4"))
    assert done.code == 2
    assert "cat.mp4: doesn't show three flashes\ndog.mp4: doesn't show" in done.err


def test_a_film_counts_once(films, lumenmap):
    done = lumenmap(*asked(films, "front.mp4", "front.mp4"))
    assert done.code == 2
    assert "front.mp4: is the same film; give each film once" in done.err
    shutil.copy(films / "front.mp4", films / "copy.mp4")
    with pytest.raises(InputError, match=r"copy\.mp4: is the same film as .*front\.mp4; give"):
        film_names([films / "front.mp4", films / "copy.mp4"])
    with pytest.raises(InputError, match=r"none\.mp4: no such film"):
        film_names([films / "front.mp4", films / "none.mp4"])
    with pytest.raises(InputError, match="is a folder; expected a film"):
        film_names([films])


def test_films_of_one_name_in_two_folders_are_known_by_their_paths(films):
    (films / "day 2").mkdir()
    (films / "day 2/front.mp4").write_bytes(b"another")
    paths = [films / "front.mp4", films / "day 2/front.mp4", films / "left.mp4"]
    assert list(film_names(paths)) == [str(paths[0]), str(paths[1]), "left.mp4"]


def test_each_camera_keeps_a_file_of_its_own(tmp_path):
    kept = tmp_path / "night.npz"
    assert kept_paths(kept, ["a.mp4"]) == {"a.mp4": kept}
    assert kept_paths(kept, ["front.mp4", "left.mov"]) == {
        "front.mp4": tmp_path / "night-front.npz",
        "left.mov": tmp_path / "night-left.npz",
    }
    with pytest.raises(
        InputError, match=r"keep: would keep a\.mp4 and a\.mov both as night-a\.npz"
    ):
        kept_paths(kept, ["a.mp4", "a.mov"])


@pytest.mark.parametrize("option", [("--json",), ("--keep", "night.npz")])
def test_what_needs_a_film_is_refused_without(films, lumenmap, option):
    done = lumenmap("survey", films, *option)
    assert done.code == 2
    assert f"{option[0].removeprefix('--')}: applies to a film; give it with --film" in done.err


def test_films_that_do_not_fit_in_memory_are_refused_before_they_are_read(films, monkeypatch):
    blinking = Blinking(226, 3, starts=tuple(range(0, 226, 10)))
    frame = SimpleNamespace(bright=np.zeros((1080, 1920), np.uint8))
    monkeypatch.setattr("lumenmap.camera.film.read.film_frames", lambda _: iter([frame]))
    kept, more = film_memory(films / "front.mp4", blinking)
    assert kept > 20 * frame.bright.nbytes * 4  # passes, colours, the dark house
    monkeypatch.setattr("lumenmap.core.estimate.free_bytes", lambda: kept + more + 10**6)
    read_survey(films / "house.toml", [films / "front.mp4"], measured=True)
    two = [films / "front.mp4", films / "left.mp4"]
    with pytest.raises(InputError, match=r"film: would need .* make the films smaller, or give"):
        read_survey(films / "house.toml", two, measured=True)


def test_each_film_is_kept_with_its_own_camera(films, lumenmap, monkeypatch):
    """What is measured and how it is written are tested on a real film, of one camera."""
    kept = {}

    def measure(film, blinking, codes, house, shot, lamps):
        assert len(codes) == round(blinking.seconds * FPS)
        own = lamps[np.isfinite(lamps).all(1)]
        assert len(own) > 50
        assert (film.spots.place[:, None] == own).all(2).any(0).all()
        return SimpleNamespace(clipped=0.0, camera=shot.position)

    monkeypatch.setattr("lumenmap.camera.stage.measured.measure", measure)
    monkeypatch.setattr(
        "lumenmap.camera.stage.kept.keep", lambda made, path: kept.update({path.name: made.camera})
    )
    names = ("left.mp4", "cat.mp4", "front.mp4")
    done = lumenmap(*asked(films, *names, also=("--keep", films / "night.npz")))
    assert done.code == 1, done.err
    assert list(kept) == ["night-left.npz", "night-front.npz"]
    assert kept["night-left.npz"][0] > kept["night-front.npz"][0]  # bearings -0.4 and 0.4
    assert f"wrote {films / 'night-front.npz'}: draw shows on it" in done.out

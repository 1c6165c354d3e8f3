"""Shows on the film of a survey, against a film that wasn't used."""

import io
import shutil
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace

import coloraide
import cv2
import numpy as np
import pytest

from lumenmap.camera.blinks.blinking import Blinking
from lumenmap.camera.blinks.groups import groups
from lumenmap.camera.film.frames import film_frames
from lumenmap.camera.film.still import Still, moved_onto
from lumenmap.camera.stage.film_stage import FilmStage
from lumenmap.camera.stage.kept import keep, read_measured
from lumenmap.camera.stage.measured import Measured, _clipped, _shares
from lumenmap.cli import main
from lumenmap.core.errors import InputError
from lumenmap.jobs.blinking import blinking_of
from lumenmap.jobs.survey import check_keep
from lumenmap.site import Site
from tests.camera.filming import Scene, film
from tests.camera.houses import house_text
from tests.camera.seen import error, oklab
from tests.camera.standing import Take
from tests.camera.test_film import small_house


def test_the_oklab_of_these_tests_is_that_of_a_library():
    for codes in ((200, 30, 90), (12, 200, 40), (5, 6, 9)):
        other = coloraide.Color("srgb", [c / 255 for c in codes]).convert("oklab").coords()
        assert np.abs(oklab(codes) - other).max() < 1e-4


@dataclass
class Surveyed:
    """A small house, filmed blinking and in a show, and what the command kept of it."""

    site: Site
    kept: Path
    measured: Measured
    show: np.ndarray
    #: (H, W, 3) the film of the show, put where the blinking's frames are.
    real: np.ndarray
    told: str


@pytest.fixture(scope="module")
def survey(tmp_path_factory):
    """The films are shorter and smaller than a phone's; the command reads them, once for all."""
    if not shutil.which("ffmpeg"):
        pytest.skip("no ffmpeg to make films with")
    folder = tmp_path_factory.mktemp("survey")
    site = small_house(folder)
    count = len(site.pixels)
    blinking = Blinking(count, 3, 2, tuple(map(int, groups(site.pixels, 5))))
    take = Take(
        seed=5,
        width=640,
        height=360,
        fps=24,
        shake=6.0,
        bearing=0.3,
        hidden=0.0,
        reflections=0,
        crf=20,
        off_by=0.01,
        before=1.2,
        after=0.3,
        glow=0.5,
        colour=True,
        neighbour=False,
    )
    scene = Scene(site, take)
    film(folder / "blinks.mp4", scene, blinking.light(0.3))
    place = np.arange(count) / count
    show = np.stack([place < 0.4, (place > 0.3) & (place < 0.8), place > 0.55], -1)
    show = (show * (0.3, 0.18, 0.3)).astype(np.float32)
    film(folder / "show.mp4", scene, np.tile(show, (8, 1, 1)))
    kept = folder / "night.npz"
    told = surveyed(folder / "house.toml", folder / "blinks.mp4", kept, blinking)
    measured = read_measured(kept)
    shown = [f for f in film_frames(folder / "show.mp4") if 1.5 < f.time < 1.8]
    still = Still(np.rint(measured.dark.mean(-1)).astype(np.uint8))
    real = np.mean([moved_onto(f.colours(), still.move(f.bright)) for f in shown], axis=0)
    return Surveyed(site, kept, measured, show, real, told)


def surveyed(house, film, kept, blinking):
    """What ``lumenmap survey --film FILM --keep KEPT`` says of a film with this blinking."""
    words = ["lumenmap", "survey", house, "--film", film, "--brightness", "0.3", "--keep", kept]
    with pytest.MonkeyPatch.context() as patch, io.StringIO() as out:
        patch.setattr(
            "lumenmap.jobs.survey.blinking_of",
            lambda site, measured=False: replace(blinking, starts=blinking.starts * measured),
        )
        patch.setattr(sys, "argv", list(map(str, words)))
        patch.setattr(sys, "stdout", out)
        with pytest.raises(SystemExit) as ended:
            main()
            raise SystemExit(0)
        assert not ended.value.code
        return out.getvalue()


def test_a_show_is_predicted_on_the_films_stage(survey):
    """The film of the show was not used: OKLab over the house, against the same without light."""
    site, measured, show, real = survey.site, survey.measured, survey.show, survey.real
    stage = FilmStage(site, measured, width=640, as_filmed=True)
    drawn = stage.still(show)
    flat = measured.shot.flatten((real / 255).astype(np.float32)) * 255
    dark = measured.shot.flatten((measured.dark / 255).astype(np.float32)) * 255
    lit = np.linalg.norm(oklab(flat) - oklab(dark), axis=-1) > 0.03
    assert lit.mean() > 0.05
    found = error(drawn, flat, lit)  # 0.019, against 0.077 without light
    assert found < 0.025
    assert found < 0.3 * error(dark, flat, lit)


def test_light_adds_up(survey):
    """Linear light: what two halves add is what the whole adds."""
    site, measured, show = survey.site, survey.measured, survey.show
    stage = FilmStage(site, measured, width=320)
    left = show.copy()
    left[: len(show) // 2] = 0
    apart = stage._added(left) + stage._added(show - left)
    assert np.abs(stage._added(show) - apart).max() < 1e-5


def test_a_group_lit_evenly_is_drawn_as_it_was_measured(survey):
    """The weights of lamps near themselves leave the measured light as it is."""
    site, measured, show = survey.site, survey.measured, survey.show
    stage = FilmStage(site, measured, width=640)
    starts = measured.starts
    even = np.repeat(np.add.reduceat(show, starts, axis=0), stage._count, axis=0)
    even = (even / stage._count.repeat(stage._count)[:, None]).astype(np.float32)
    plain = stage._whole(stage._share @ even[starts])
    made = sum(plain[..., k : k + 1] * stage._colours[k] for k in range(3))
    assert np.abs(stage._added(even) - made).max() < 1e-5


def test_one_lamp_of_a_group_is_a_spot_where_the_film_shows_it(survey):
    """Every second pixel is lit: bright at those, dark at the ones between."""
    site, measured = survey.site, survey.measured
    stage = FilmStage(site, measured, width=640)
    light = np.zeros((len(site.pixels), 3), np.float32)
    light[::2] = 1
    bright = stage._added(light).sum(-1)
    rays = measured.shot.rays(measured.lamps)
    camera = measured.shot.flat(640)
    at, _ = camera.project(camera.position + rays)
    seen = [n for n in range(2, len(at) - 2) if np.isfinite(at[n - 1 : n + 2]).all()]
    spot = {n: bright[int(at[n, 1]), int(at[n, 0])] for n in seen}
    on = [n for n in seen if n % 2 == 0 and n + 1 in spot]
    assert len(on) > 10
    assert np.median([spot[n] / spot[n + 1] for n in on]) > 3


def test_what_is_kept_comes_back(survey, tmp_path):
    measured = survey.measured
    # What was read had been rounded to 16 bits; the rest is exact.
    measured = replace(measured, share=measured.share + np.float32(1e-5))
    keep(measured, tmp_path / "night.npz")
    back = read_measured(tmp_path / "night.npz")
    assert back.house == survey.site.house.sha256
    assert (back.dark == measured.dark).all()
    assert np.abs(back.share - measured.share).max() < 1e-3
    assert (back.colours == measured.colours).all()
    assert back.shot.focal == measured.shot.focal
    assert np.allclose(back.lamps, measured.lamps, equal_nan=True)


def test_a_show_on_what_was_kept(survey, tmp_path, lumenmap):
    (survey.kept.parent / "show.toml").write_text(
        '[show]\nhouse = "house.toml"\nlength = 2\n[[cue]]\nlength = 2\n[[cue.layer]]\n'
        'effect = "gradient"\npalette = ["#ff8800"]\n'
    )
    done = lumenmap(
        "preview",
        survey.kept.parent / "show.toml",
        "--photo",
        survey.kept,
        "-o",
        tmp_path / "p.png",
        "--width",
        "320",
    )
    assert done.code == 0, done.err
    assert "the light that was measured in the survey's film" in done.out
    assert cv2.imread(str(tmp_path / "p.png")).shape == (180, 320, 3)


def test_the_survey_says_what_it_kept(survey, tmp_path, lumenmap):
    told = " ".join(survey.told.split())
    assert "wrote" in told
    assert "lumenmap preview SHOW --photo night.npz" in told
    assert "too bright" not in told
    ask = ("survey", survey.kept.parent / "house.toml")
    film = ("--film", survey.kept.parent / "blinks.mp4")
    wrong = lumenmap(*ask, *film, "--keep", tmp_path / "night.zip")
    assert (wrong.code, "a name that ends in .npz" in wrong.err) == (2, True)
    wrong = lumenmap(*ask, "--keep", tmp_path / "night.npz")
    assert (wrong.code, "give it with --film" in wrong.err) == (2, True)


def test_light_of_pixels_with_white_is_not_kept(tmp_path):
    text = house_text(0).replace('kind = "ws2811-12v"', 'kind = "sk6812-rgbw"')
    (tmp_path / "house.toml").write_text(text)
    with pytest.raises(InputError, match="red, green and blue only"):
        check_keep(tmp_path / "house.toml", tmp_path / "night.npz")
    assert not blinking_of(Site.read(tmp_path / "house.toml"), measured=True).starts


@pytest.mark.parametrize(("code", "part"), [(240.0, 1.0), (200.0, 0.0)])
def test_a_film_that_is_too_bright_is_told_from_others(code, part):
    """``colours`` are added to the dark film: 240 + 20 is more than a film can hold."""
    found = SimpleNamespace(
        colours=np.full((3, 64, 64, 3), code, np.float32),
        dark=np.full((64, 64, 3), 20.0, np.float32),
    )
    assert _clipped(found, np.ones((32, 32), np.float32)) == part


@pytest.mark.parametrize("damage", ["text", "cut", "other", "numbers"])
def test_a_damaged_stage_is_refused(survey, tmp_path, damage):
    path = tmp_path / "night.npz"
    data = survey.kept.read_bytes()
    if damage == "text":
        path.write_bytes(b"hello")
    elif damage == "cut":
        path.write_bytes(data[: len(data) // 2])
    elif damage == "other":
        np.savez(path, a=np.zeros(3))
    else:
        with np.load(survey.kept) as kept:
            a = {name: kept[name] for name in kept.files}
        a["share"] = a["share"][:, :3]
        np.savez(path, **a)
    with pytest.raises(InputError, match="isn't what a survey keeps; make it with lumenmap survey"):
        read_measured(path)


@pytest.mark.parametrize("count", [5, 7])
def test_each_group_has_the_part_of_the_light_that_it_throws(count):
    """Three quarters of one group's and a quarter of another's; and one group alone."""
    blinking = Blinking(4 * count, 3, 2, tuple(range(0, 4 * count, 4)))
    light = np.zeros((count, 40, 80), np.float32)
    light[0, :, :40] = 0.2
    light[2, :, 40:], light[3, :, 40:] = 0.3, 0.1
    signs = blinking.rows[1:, 1 : count + 1]
    film = SimpleNamespace(groups=np.einsum("rg,ghw->rhw", signs, light).astype(np.float32))
    share, _, _ = _shares(film, blinking, blinking.light(1.0).astype(np.float64))
    true = light / light.sum(0)
    assert np.abs(share - true)[:, :, [10, 20, 60, 70]].max() < 0.01


def test_groups_are_of_one_edge(examples):
    pixels = Site.read(examples / "marlow-bend/house.toml").pixels
    starts = groups(pixels)
    assert 12 <= len(starts) <= 31
    for first, last in zip(starts, [*starts[1:], len(pixels)], strict=True):
        assert len(set(pixels.edge[first:last].tolist())) == 1

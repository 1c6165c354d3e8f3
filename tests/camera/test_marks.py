"""Files of marks, the commands about them, and shows drawn on a marked photograph."""

import cv2
import numpy as np
import pytest
from PIL import Image

from lumenmap.camera.marks.photo import read_photo
from lumenmap.camera.marks.points import named_points
from lumenmap.camera.marks.posed import read_posed
from lumenmap.core.errors import InputError
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.site import Site
from tests.camera.test_shot import off, seen, standing

SIZE = (1600, 1200)
NAMES = (
    "wing/front-left",
    "garage/front-left",
    "garage/peak-left",
    "main/door 1 top-left",
    "wing/foot-front-left",
    "garage/foot-front-left",
    "main/window 1 bottom-left",
    "dormer/peak-front",
    "wing/peak-front",
)


@pytest.fixture
def folder(tmp_path, examples):
    """A house, a photograph of 1600 by 1200, and its camera by OpenCV."""
    for name in ("house.toml", "slow-snow.toml"):
        (tmp_path / name).write_text((examples / "marlow-bend" / name).read_text())
    rng = np.random.default_rng(21)
    picture = Image.fromarray(rng.integers(60, 90, (*SIZE[::-1], 3), np.uint8))
    exif = picture.getexif()
    exif.get_ifd(0x8769)[0xA405] = 27  # by the diagonal: 26 × (5/4) × 43.27/36 … of 4:3 is 28.1
    picture.save(tmp_path / "front.jpg", exif=exif)
    return tmp_path


def marked(folder, names=NAMES, wrong=None, extra="", seed=21):
    """Write a file of marks, 1 px off; ``wrong`` is marked where another point is."""
    rng = np.random.default_rng(seed)
    camera = standing(rng, 26.0, size=SIZE)
    known = named_points(Site.read(folder / "house.toml").house)
    at = seen(np.array([known[n].xyz for n in names]), *camera) + rng.normal(
        0, 0.7, (len(names), 2)
    )
    lines = ["[photo]", 'file = "front.jpg"', extra, "[mark]"]
    for name, place in zip(names, at, strict=True):
        if wrong and name == wrong[0]:
            place = seen(known[wrong[1]].xyz[None], *camera)[0]
        lines.append(f'"{name}" = [{place[0]:.1f}, {place[1]:.1f}]')
    file = folder / "front.marks.toml"
    file.write_text("\n".join(lines))
    return file, camera


def test_marks_give_the_camera(folder):
    file, camera = marked(folder)
    posed = read_posed(file)
    degrees, part = off(posed.shot, camera[0], camera[1], posed.site.pixels.xyz.mean(0))
    assert degrees < 0.4
    assert part < 0.02
    assert all(m.right for m in posed.marks)
    assert any("9 of 9 marks fit" in line for line in posed.words())


def test_a_wrong_mark_is_named_and_what_it_is(folder):
    file, camera = marked(folder, wrong=("garage/peak-left", "garage/peak-right"))
    posed = read_posed(file)
    assert [m.point.name for m in posed.marks if not m.right] == ["garage/peak-left"]
    told = next(line for line in posed.words() if line.startswith("WRONG"))
    assert '"garage/peak-left"' in told
    assert 'fits "garage/peak-right"' in told
    assert off(posed.shot, camera[0], camera[1], posed.site.pixels.xyz.mean(0))[1] < 0.03


@pytest.mark.parametrize("name", ["wing/front-left", "dormer/peak-front", "garage/foot-front-left"])
def test_any_one_wrong_mark_is_found(folder, name):
    file, _ = marked(folder, wrong=(name, "main/door 1 bottom-right"))
    assert [m.point.name for m in read_posed(file).marks if not m.right] == [name]


def test_the_focal_length_in_the_file_is_read(folder):
    # CIPA DC-008 counts by the diagonal, 43.27 mm of film; a 4:3 picture is 0.8 of it wide.
    assert read_photo(folder / "front.jpg").lens == pytest.approx(
        27 * 36 / (0.8 * 43.27) * 1, rel=0.1
    )


def test_a_photograph_stands_upright(folder):
    picture = Image.open(folder / "front.jpg")
    exif = picture.getexif()
    exif[0x0112] = 6
    picture.save(folder / "turned.jpg", exif=exif)
    assert read_photo(folder / "turned.jpg").size == (1200, 1600)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            lambda t: t.replace('"garage/peak-left"', '"garage/peak-lft"'),
            'no point "garage/peak-lft"; did you mean "garage/peak-left"',
        ),
        (lambda t: t.replace("front.jpg", "../front.jpg"), "expected a file in the same folder"),
        (lambda t: t.replace("front.jpg", "back.jpg"), "no such photograph"),
        (lambda t: t.replace("front.jpg", "house.toml"), "isn't a readable picture"),
        (lambda t: "\n".join(t.splitlines()[:7]), "3 points are too few to find the camera"),
        (
            lambda t: t.replace("[mark]", '[mark]\n"wing/front-right" = [2400, 10]'),
            "outside the photograph, which is 1600 × 1200",
        ),
        (lambda t: t.replace("[mark]", '[mark]\n"wing/front-right" = "here"'), "mark"),
        (lambda t: t.replace("[mark]", "[marks]"), "marks"),
    ],
)
def test_mistakes_are_told(folder, change, told):
    file, _ = marked(folder)
    file.write_text(change(file.read_text()))
    with pytest.raises(InputError, match=told.replace("[", r"\[")):
        read_posed(file)


def test_marks_that_fit_no_camera_are_refused(folder):
    file, _ = marked(folder)
    rng = np.random.default_rng(1)
    lines = file.read_text().splitlines()
    for i, line in enumerate(lines):
        if line.startswith('"'):
            x, y = rng.uniform((100, 100), (1500, 1100))
            lines[i] = f"{line.split(' = ')[0]} = [{x:.0f}, {y:.0f}]"
    file.write_text("\n".join(lines))
    with pytest.raises(InputError, match="marks fit one camera|no camera sees"):
        read_posed(file)


def test_the_command_lists_points_and_begins_a_file(folder, lumenmap):
    done = lumenmap("marks", folder / "house.toml", "--photo", folder / "front.jpg")
    assert done.code == 0
    assert "wing/front-left" in done.out
    text = (folder / "front.marks.toml").read_text()
    assert 'file = "front.jpg"' in text
    assert text.count('# "') == 16
    assert lumenmap("marks", folder / "house.toml", "--photo", folder / "front.jpg").code == 2


def test_the_command_checks_marks_with_a_picture(folder, lumenmap):
    file, _ = marked(folder, wrong=("garage/peak-left", "garage/peak-right"))
    done = lumenmap("marks", file, "-o", folder / "check.png")
    assert done.code == 0
    assert 'WRONG: "garage/peak-left"' in done.out
    drawn = np.asarray(Image.open(folder / "check.png"))
    red = (drawn[..., 0] > 220) & (drawn[..., 1] < 110) & (drawn[..., 2] < 110)
    assert red.any()


def test_a_show_on_the_photograph(folder, lumenmap):
    """The picture is the photograph, flat and dark, with light where the lamps are."""
    file, _ = marked(folder)
    done = lumenmap(
        "preview",
        folder / "slow-snow.toml",
        "--photo",
        file,
        "-o",
        folder / "p.png",
        "--width",
        "400",
        "--at",
        "3",
    )
    assert done.code == 0, done.err
    drawn = np.asarray(Image.open(folder / "p.png")).astype(int)
    assert drawn.shape == (300, 400, 3)
    shot = read_posed(file).shot
    lamps, _ = lamp_places(Site.read(folder / "house.toml"))
    places, _ = shot.project(lamps)
    flat = cv2.undistortPoints(
        places[:, None],
        np.array([[shot.focal, 0, 800], [0, shot.focal, 600], [0, 0, 1.0]]),
        np.array([*shot.radial, 0, 0]),
    )[:, 0]
    at = (flat * shot.focal / 4 + (200, 150)).astype(int)
    inside = ((at > 1) & (at < (398, 298))).all(1)
    by_lamps = drawn[at[inside, 1], at[inside, 0]].sum(1).mean()
    assert by_lamps > 2.5 * drawn[:40].sum(2).mean()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["-o", "p.html"], "doesn't apply to a page"),
        (["-o", "p.png", "--height", "300"], "goes by the photograph"),
        (["-o", "p.png", "--view", "front"], "goes by the photograph"),
    ],
)
def test_options_that_a_photograph_cannot_take(folder, lumenmap, words, told):
    file, _ = marked(folder)
    words = [folder / w if w.startswith("p.") else w for w in words]
    done = lumenmap("preview", folder / "slow-snow.toml", "--photo", file, *words)
    assert done.code == 2
    assert told in done.err


def test_marks_of_another_house_are_refused(folder, lumenmap, examples):
    file, _ = marked(folder)
    other = (folder / "house.toml").read_text().replace("width = 42", "width = 43")
    (folder / "other.toml").write_text(other)
    done = lumenmap(
        "preview",
        folder / "slow-snow.toml",
        "--house",
        folder / "other.toml",
        "--photo",
        file,
        "-o",
        folder / "p.png",
    )
    assert done.code == 2
    assert "another house" in done.err

"""Files of marks, the commands about them, and shows drawn on a marked photograph."""

import functools
import re
import tempfile
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from lumenmap.camera.marks.photo import read_photo
from lumenmap.camera.marks.picture import draw_marks
from lumenmap.camera.marks.points import named_points
from lumenmap.camera.marks.read import read_posed
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
    grey = np.linspace(60, 90, SIZE[0]).astype(np.uint8)
    picture = Image.fromarray(np.tile(grey[None, :, None], (SIZE[1], 1, 3)))
    exif = picture.getexif()
    exif[0x8769] = {0xA405: 25}  # by the diagonal; by the width of 4:3 it is 26
    picture.save(tmp_path / "front.jpg", exif=exif)
    return tmp_path


@functools.cache
def points_of(text):
    """The named points of a house file, which nearly all of these tests share."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "house.toml"
        file.write_text(text)
        return named_points(Site.read(file).house)


def marked(folder, names=NAMES, wrong=None, extra="", seed=21):
    """Write a file of marks, 1 px off; ``wrong`` is marked where another point is."""
    rng = np.random.default_rng(seed)
    camera = standing(rng, 26.0, size=SIZE)
    known = points_of((folder / "house.toml").read_text())
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


def scaled(text, by):
    """The text of a file of marks, read off a picture of another size."""
    return re.sub(
        r"= \[(.*), (.*)\]",
        lambda m: f"= [{by * float(m[1]):.2f}, {by * float(m[2]):.2f}]",
        text,
    )


def test_marks_read_off_a_smaller_copy_are_doubted(folder, lumenmap):
    file, _ = marked(folder)
    assert "WARNING" not in lumenmap("marks", file).out
    text = file.read_text()
    for part in (0.5, 0.7, 0.8):
        file.write_text(scaled(text, part))
        said = lumenmap("marks", file)
        assert "check that they were read off front.jpg as it is" in said.out + said.err


def test_a_photograph_that_was_cut_is_told_and_its_right_marks_are_not_blamed(folder, lumenmap):
    """Its file keeps the focal length of the whole: two of nine right marks were called wrong."""
    file, _ = marked(folder)
    w, h = SIZE
    left, top = 272, 204  # 0.66 of the photograph is kept
    with Image.open(folder / "front.jpg") as whole:
        part = whole.crop((left, top, w - left, h - top))
        part.save(folder / "front.jpg", exif=whole.getexif())
    file.write_text(
        re.sub(
            r"= \[(.*), (.*)\]",
            lambda m: f"= [{float(m[1]) - left:.1f}, {float(m[2]) - top:.1f}]",
            file.read_text(),
        )
    )
    posed = read_posed(file)
    assert all(mark.right for mark in posed.marks)
    assert posed.shot.lens == pytest.approx(26 / 0.66, rel=0.03)
    said = lumenmap("marks", file).out
    assert "WRONG" not in said
    assert "mm, not the 26 mm of the photograph's file" in said
    assert "that nothing was cut off it" in said


def test_marks_on_one_wall_leave_other_masses_open_and_that_is_told(folder, lumenmap):
    """They fit one camera to a pixel, and a wing may be drawn thirty pixels from its place."""
    corners = ("bottom-left", "bottom-right", "top-right", "top-left")
    wall = [f"main/{item} 1 {corner}" for item in ("window", "door") for corner in corners]
    with Image.open(folder / "front.jpg") as picture:
        picture.save(folder / "front.jpg", exif=b"")
    parts = []
    for seed in (21, 23, 25):
        file, camera = marked(folder, wall, seed=seed)
        posed = read_posed(file)
        assert all(mark.right for mark in posed.marks)
        point, off = posed.open
        drawn = posed.shot.project(point.xyz[None])[0][0]
        parts.append(np.linalg.norm(drawn - seen(point.xyz[None], *camera)[0]) / off)
    # By OpenCV's camera: no further off than it is said to be, more or less.
    assert 0.2 < max(parts) < 2
    assert f'WARNING: the marks leave open where "{point.name}" is' in lumenmap("marks", file).out
    # Marked too, it is what tells the camera: the others, which hardly say where it is, don't
    # outvote it.
    posed = read_posed(marked(folder, [*wall, point.name], seed=25)[0])
    assert all(mark.right for mark in posed.marks)
    assert posed.open is None or posed.open.off < off / 2


def test_a_mirrored_photograph_is_told(folder):
    """A camera was found behind the house, from where nobody could have marked its front."""
    file, _ = marked(folder)
    read_posed(file)  # as it is, nothing hides a mark
    aside = re.sub(r"= \[(.*), ", lambda m: f"= [{SIZE[0] - float(m[1]):.2f}, ", file.read_text())
    file.write_text(aside)
    with pytest.raises(
        InputError, match=r"hides \d of the \d points .* the photograph isn't mirrored"
    ):
        read_posed(file)


@pytest.mark.parametrize(("code", "told"), [(9, "is nearly black"), (252, "is nearly white")])
def test_a_photograph_that_shows_nothing_is_told(folder, lumenmap, caplog, code, told):
    picture = np.full((SIZE[1], SIZE[0], 3), code, np.uint8)
    Image.fromarray(picture).save(folder / "front.jpg")
    file, _ = marked(folder)
    assert f"WARNING: front.jpg {told}" in lumenmap("marks", file).out
    show = folder / "slow-snow.toml"
    lumenmap("preview", show, "--photo", file, "-o", folder / "a.png", "--width", "320")
    assert f"front.jpg {told}" in caplog.text
    picture[: SIZE[1] // 10, : SIZE[0] // 5] = 128  # a window, or a tree: something is seen
    Image.fromarray(picture).save(folder / "front.jpg")
    assert told not in lumenmap("marks", file).out


def test_a_camera_behind_the_house_is_said_to_be_there(folder):
    file, _ = marked(folder)
    posed = read_posed(file)
    assert "in front of the house's origin" in posed.words()[0]
    there = posed.shot.position * (1, -1, 1)
    behind = replace(posed, shot=replace(posed.shot, position=there))
    assert "behind the house's origin" in behind.words()[0]


def test_labels_of_marks_stay_on_the_picture(folder, monkeypatch):
    """What is drawn beyond the right edge can't be read."""
    drawn = []
    own = ImageDraw.ImageDraw.text

    def text(pen, at, words, *args, **more):
        drawn.append((at[0], at[0] + pen.textlength(words, font=more["font"])))
        own(pen, at, words, *args, **more)

    monkeypatch.setattr(ImageDraw.ImageDraw, "text", text)
    file, _ = marked(folder)
    posed = read_posed(file)
    aside = [replace(m, place=np.array([1590.0, m.place[1]])) for m in posed.marks]
    draw_marks(folder / "check.png", replace(posed, marks=tuple(aside)))
    assert len(drawn) == len(NAMES)
    assert min(a for a, _ in drawn) > 1000
    assert max(b for _, b in drawn) <= 1400


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
    assert read_photo(folder / "front.jpg").lens == pytest.approx(25 * 36 / (0.8 * 43.27), rel=1e-3)


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
        (
            lambda t: t.replace("front.jpg", "back.jpg"),
            r'photo.file: no file "back.jpg" in this folder .line 2',
        ),
        (lambda t: t.replace("front.jpg", "house.toml"), "isn't a readable picture"),
        (lambda t: "\n".join(t.splitlines()[:7]), "3 points can.t tell where the camera stood"),
        (
            lambda t: t.replace("[mark]", '[mark]\n"wing/front-right" = [2400, 10]'),
            "outside the photograph, which is 1600 × 1200",
        ),
        (lambda t: t.replace("[mark]", '[mark]\n"wing/front-right" = "here"'), "mark"),
        (
            lambda t: t.replace("[mark]", '[mark]\n"wing/front-right" = ["5 %", 3]'),
            'front-right item 1: is "5 %"; expected a number',
        ),
        (lambda t: scaled(t, 1 / 16), "expected pixels, not a percentage or a share"),
        (lambda t: scaled(t, 1 / 1600), "expected pixels, not a percentage or a share"),
        (lambda t: t.replace("[mark]", "[marks]"), "marks"),
    ],
)
def test_mistakes_are_told(folder, change, told):
    file, _ = marked(folder)
    file.write_text(change(file.read_text()))
    with pytest.raises(InputError, match=told.replace("[", r"\[")):
        read_posed(file)


def test_every_mark_outside_the_photograph_is_told_and_what_may_be_meant(folder):
    file, _ = marked(folder)
    text = re.sub(r"= \[(.*), (.*)\]", r"= [\2, \1]", file.read_text())
    file.write_text(re.sub(r'("dormer/peak-front" = )\[', r"\1[-1", text))
    with pytest.raises(InputError) as raised:
        read_posed(file)
    outside = [error.message for error in raised.value.each]
    assert len(outside) >= 2
    assert all("outside the photograph" in message for message in outside)
    # One of them is outside either way round.
    hints = [m.endswith("expected how far right first, then how far down") for m in outside]
    assert sum(hints) == len(hints) - 1


def test_marks_that_fit_no_camera_are_refused(folder):
    file, _ = marked(folder)
    rng = np.random.default_rng(1)
    lines = file.read_text().splitlines()
    for i, line in enumerate(lines):
        if line.startswith('"'):
            x, y = rng.uniform((100, 100), (1500, 1100))
            lines[i] = f"{line.split(' = ')[0]} = [{x:.0f}, {y:.0f}]"
    file.write_text("\n".join(lines))
    with pytest.raises(InputError, match="of 9 marks fit one camera|no camera sees"):
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
        "320",
        "--at",
        "3",
    )
    assert done.code == 0, done.err
    drawn = np.asarray(Image.open(folder / "p.png")).astype(int)
    assert drawn.shape == (240, 320, 3)
    shot = read_posed(file).shot
    lamps, _ = lamp_places(Site.read(folder / "house.toml"))
    places, _ = shot.project(lamps)
    flat = cv2.undistortPoints(
        places[:, None],
        np.array([[shot.focal, 0, 800], [0, shot.focal, 600], [0, 0, 1.0]]),
        np.array([*shot.radial, 0, 0]),
    )[:, 0]
    at = (flat * shot.focal / 5 + (160, 120)).astype(int)
    inside = ((at > 1) & (at < (318, 238))).all(1)
    by_lamps = drawn[at[inside, 1], at[inside, 0]].sum(1).mean()
    assert by_lamps > 2.5 * drawn[:32].sum(2).mean()


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


#: A line on the front wall of the wing and one on its left roof plane, m, on Marlow Bend.
WALL = "wing/wall-front"


def traced(folder, on, points, name="beam", seed=21):
    """A file of marks with a line through points (K, 3) as OpenCV sees them, marked 1 px off."""
    file, camera = marked(folder, seed=seed)
    rng = np.random.default_rng(3)
    at = seen(np.array(points), *camera) + rng.normal(0, 0.7, (len(points), 2))
    rows = ", ".join(f"[{x:.1f}, {y:.1f}]" for x, y in at)
    file.write_text(
        file.read_text() + f'\n[[trace]]\nname = "{name}"\non = "{on}"\npoints = [{rows}]\n'
    )
    return file


def test_a_line_on_a_wall_becomes_an_edge_with_its_length(folder, lumenmap):
    house = Site.read(folder / "house.toml").house
    wall = next(f for f in house.faces if f.name == WALL).corners
    a = wall[0] + 0.1 * (wall[1] - wall[0]) + (0, 0, 2.3)
    b = wall[0] + 0.9 * (wall[1] - wall[0]) + (0, 0, 2.3)
    file = traced(folder, WALL, [a, b])
    (line,) = read_posed(file).traces
    true = np.linalg.norm(b - a)
    assert line.length == pytest.approx(true, rel=0.01)
    assert abs(line.length - true) < 3 * line.exact
    assert np.abs(line.points - [a, b]).max() < 0.15
    # What is told can be put into the house file, and is the same edge there.
    told = lumenmap("marks", file).out
    text = told[told.index("[[edge]]") :].rsplit('facing = "front"', 1)[0] + 'facing = "front"\n'
    (folder / "more.toml").write_text((folder / "house.toml").read_text() + "\n" + text)
    edge = Site.read(folder / "more.toml").house.edges["beam"]
    assert edge.length == pytest.approx(line.length, abs=0.002)
    assert edge.facings[0].tolist() == [0, -1, 0]


def test_a_line_that_leaves_its_wall_is_doubted(folder, lumenmap):
    """It goes on along the main house's front, and got a length as if it stayed on the wing's."""
    house = Site.read(folder / "house.toml").house
    wing, main = (
        next(f for f in house.faces if f.name == name).corners for name in (WALL, "main/wall-front")
    )
    up = np.array((0, 0, 2.3))
    corner, front = wing[0] + up, 0.4 * wing[0] + 0.6 * wing[1] + up
    assert "WARNING" not in lumenmap("marks", traced(folder, WALL, [front, corner])).out
    beyond = np.array((wing[0][0] - 2.5, main[0][1], 2.3))
    said = lumenmap("marks", traced(folder, WALL, [front, corner, beyond])).out
    assert re.search(r'WARNING: point 3 of "beam" lies .* outside "wing/wall-front"', said)


def test_a_line_on_a_roof_plane(folder):
    house = Site.read(folder / "house.toml").house
    roof = next(f for f in house.faces if f.name == "garage/roof-front").corners
    a, b = roof[0] * 0.9 + roof[2] * 0.1, roof[0] * 0.2 + roof[2] * 0.8
    (line,) = read_posed(traced(folder, "garage/roof-front", [a, b])).traces
    assert line.length == pytest.approx(np.linalg.norm(b - a), rel=0.03)
    assert 'facing = "up"' in line.words(house)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            lambda t: t.replace(f'on = "{WALL}"', 'on = "wing/wall-frnt"'),
            'did you mean "wing/wall-front"',
        ),
        (lambda t: t.replace('"beam"', '"main/ridge"'), "another edge has this name"),
        (lambda t: t.replace(f'on = "{WALL}"', 'on = "main/wall-right"'), "edge-on|far beyond"),
        (lambda t: t.rsplit("points = ", 1)[0] + "points = [[800, 600]]", "points"),
        (lambda t: t.rsplit("points = ", 1)[0] + "points = [[800, 650], [800, 650]]", "the same"),
        (lambda t: t.rsplit("points = ", 1)[0] + "points = [[800, 2], [900, 2]]", "far beyond"),
    ],
)
def test_lines_that_cannot_be(folder, change, told):
    house = Site.read(folder / "house.toml").house
    wall = next(f for f in house.faces if f.name == WALL).corners
    file = traced(folder, WALL, [wall[0] + (0.2, 0, 2), wall[1] + (-0.2, 0, 2)])
    file.write_text(change(file.read_text()))
    with pytest.raises(InputError, match=told):
        read_posed(file)

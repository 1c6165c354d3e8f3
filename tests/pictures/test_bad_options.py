"""Mistakes on the command line: one line that says what is expected, exit 2, no file left."""

import pytest

SHOW = """
[show]
name = "Flicker"
house = "house.toml"
fps = 20
length = "2 s"
seed = 1

[palette.white]
stops = ["#ffffff"]

[[cue]]
[[cue.layer]]
effect = "still"
palette = "white"
"""


@pytest.fixture(scope="module")
def show(examples, tmp_path_factory):
    folder = tmp_path_factory.mktemp("show")
    text = (examples / "kelder-studio" / "house.toml").read_text()
    (folder / "house.toml").write_text(text)
    (folder / "show.toml").write_text(SHOW)
    return folder / "show.toml"


INSIDE = ("--look-at", "2,9,1")


@pytest.mark.parametrize(
    ("name", "words", "says"),
    [
        ("no/a.gif", (), "a.gif: can't be written: No such file or directory"),
        ("file/a.gif", (), "a.gif: can't be written: Not a directory"),
        ("folder.gif", (), "folder.gif: is a folder; expected the path of a file"),
        ("a.gfi", (), 'a.gfi: no picture format ".gfi"; did you mean ".gif"'),
        ("a", (), "a: its name has no ending; expected one of .gif, .webp"),
        ("a.gif", ("--width", "0"), "--width: is 0; expected 64 to 3840"),
        ("a.gif", ("--width", "-5"), "--width: is -5; expected 64 to 3840"),
        ("a.gif", ("--width", "100000"), "--width: is 100000; expected 64 to 3840"),
        ("a.html", ("--width", "100000"), "--width: is 100000; expected 64 to 3840"),
        (
            "a.gif",
            ("--height", "100000"),
            "a picture of 640 × 100000 pixels; expected 16 to 3840 for each side",
        ),
        ("a.gif", ("--height", "-9"), "a picture of 640 × -9 pixels; expected 16 to 3840"),
        ("a.gif", ("--stand", "2,3,1.7", *INSIDE), "--view: the camera is inside the house"),
        ("a.gif", ("--stand", "1,0.01,1", *INSIDE), "--view: the camera is inside the house"),
        ("a.html", ("--stand", "2,3,1.7", *INSIDE), "--view: the camera is inside the house"),
        ("a.gif", ("--stand", "2,9,1", *INSIDE), "--view: the camera looks at its own position"),
        (
            "a.gif",
            ("--stand", "2,-9,nan", *INSIDE),
            '--stand: is "2,-9,nan"; expected x,y,z such as',
        ),
        ("a.gif", ("--stand", "2,-9", *INSIDE), '--stand: is "2,-9"; expected x,y,z such as'),
        (
            "a.gif",
            ("--stand", "2,-9,1"),
            "--look-at: is missing: --stand and --look-at go together",
        ),
        ("a.gif", ("--view", "frnt"), '--view: no view "frnt"; did you mean "front"'),
        ("a.gif", ("--time", "noon"), '--time: no time "noon"; '),
        ("a.gif", ("--max-mb", "0"), "--max-mb: is 0; expected 0.01 or more"),
        ("a.gif", ("--sheet", "9"), "--sheet: applies to .png and .jpg files only, not to .gif"),
        ("a.mp4", ("--at", "1"), "--at: applies to .png and .jpg files only, not to .mp4"),
        ("a.html", ("--at", "1"), "--at: applies to .png and .jpg files only, not to .html"),
        ("a.webp", ("--dither",), "--dither: applies to .gif files only, not to .webp"),
        (
            "a.html",
            ("--max-mb", "1"),
            "--max-mb: doesn't apply to a page, which holds the whole show",
        ),
        (
            "a.html",
            ("--as-powered",),
            "--as-powered: doesn't apply to a page, which plays the codes",
        ),
        ("a.png", ("--sheet", "1"), "--sheet: is 1; expected 2 to 60"),
        ("a.png", ("--at", "2"), "--at: is 2 s, but the show lasts 2 s"),
    ],
)
def test_one_line_exit_2_and_nothing_left(show, tmp_path, lumenmap, name, words, says):
    (tmp_path / "file").write_text("")
    (tmp_path / "folder.gif").mkdir()
    before = sorted(tmp_path.rglob("*"))
    done = lumenmap("preview", show, "-o", tmp_path / name, *words)
    assert done.code == 2
    assert not done.out
    assert says in done.err
    assert len(done.err.splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("words", [("--seconds", "0"), ("--fps", "0"), ("--loop", "-1")])
def test_no_frames_are_refused(show, tmp_path, lumenmap, words):
    done = lumenmap("preview", show, "-o", tmp_path / "a.gif", *words)
    assert done.code == 2
    assert words[0] in done.err
    assert not list(tmp_path.iterdir())


def test_the_shortest_clip_is_one_frame(show, tmp_path, lumenmap):
    from PIL import Image

    done = lumenmap("preview", show, "-o", tmp_path / "a.gif", "--seconds", "0.01", "--width", "64")
    assert done.code == 0, done.err
    with Image.open(tmp_path / "a.gif") as seen:
        assert seen.n_frames == 1

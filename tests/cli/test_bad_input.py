"""A mistake in a file gets one line naming file, key and what would be right; nothing is written."""

import shlex

import pytest

from tests.small_house import HOUSE

SHOW = """
[show]
house = "house.toml"
fps = 10
length = "1 s"

[palette.two]
stops = ["#ff0000", "white"]

[[cue]]
[[cue.layer]]
effect = "chase"
palette = "two"
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "house.toml").write_text(HOUSE)
    (tmp_path / "show.toml").write_text(SHOW)
    return tmp_path


def edit(folder, file, old, new):
    text = (folder / file).read_text()
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1))


def test_the_files_are_good_as_they_stand(folder, lumenmap):
    done = lumenmap("make", folder / "show.toml", "-o", folder / "out")
    assert done.code == 0, done.err


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("house.toml", "[house]", "[house", r"^house\.toml: isn't TOML: .*line 2"),
        (
            "house.toml",
            "width = 24",
            "widht = 24",
            r'house\.toml: mass "main", widht: no such key; did you mean "width"',
        ),
        (
            "house.toml",
            'slope = "8/12"',
            'pitch = "8/12"',
            r'mass "main", pitch: no such key; did you mean "slope"\? \(line \d+\)$',
        ),
        (
            "house.toml",
            '"main/rake-left"',
            '"main/left-rake"',
            r'no edge "main/left-rake"; did you mean "main/rake-left"\? Edges',
        ),
        (
            "house.toml",
            "[rail]",
            "[mass]\n[mass]\n[rail]",
            r"isn't TOML: line 1\d: \[mass\] is there twice; if there are several, write \[\[mass\]\]",
        ),
        (
            "show.toml",
            'palette = "two"',
            'palette = "two"\non = "eave"',
            r'on: is "eave"; expected a list in \[ \]: \["eave"\]',
        ),
        ("house.toml", "width = 24", "width = inf", r'house\.toml: mass "main", width: .*finite'),
        ("house.toml", "width = 24", "width = nan", r'house\.toml: mass "main", width: .*finite'),
        ("house.toml", "width = 24", "width = -4", r'house\.toml: mass "main", width: '),
        (
            "house.toml",
            "width = 24",
            'width = "24 furlong"',
            r'mass "main", width: .*no unit "furlong"',
        ),
        ("house.toml", 'slope = "8/12"', "slope = 8", r'mass "main", slope: .*write "8/12"'),
        ("house.toml", '"3 in"', '"0 in"', r"house\.toml: rail.hole_spacing: "),
        ("house.toml", '"3 in"', '"-3 in"', r"house\.toml: rail.hole_spacing: "),
        ("house.toml", '"3 in"', '"0.00001 in"', r"house\.toml: .*pixels"),
        (
            "house.toml",
            "main/rake-left",
            "main/rake-lft",
            r'house\.toml: line "front", path item 1: no edge "main/rake-lft"; did you mean "main/rake-left"',
        ),
        (
            "house.toml",
            "main/rake-right",
            "main/rake-left",
            r'house\.toml: line "front", path item 2: .*"main/rake-left".*(twice|already)',
        ),
        (
            "house.toml",
            '"ws2811-12v"',
            '"ws2811-12"',
            r'house\.toml: pixel.kind: no pixel kind .*did you mean "ws2811-12v"',
        ),
        ("house.toml", "amps = 5", "amps = 0", r'house\.toml: supply "garage", amps: '),
        ("house.toml", "amps = 5", "amps = 0.01", r"house\.toml: .*garage.*"),
        (
            "show.toml",
            '"house.toml"',
            '"hose.toml"',
            r'show\.toml: show\.house: names "hose\.toml": no such file .*did you mean "house.toml"',
        ),
        ("show.toml", '"house.toml"', '"../house.toml"', r"show\.toml: show.house: .*outside"),
        ("show.toml", "fps = 10", "fps = 0", r"show\.toml: show.fps: is 0; expected above 0"),
        ("show.toml", "fps = 10", "fps = nan", r"show\.toml: show.fps"),
        (
            "show.toml",
            "fps = 10",
            "fsp = 10",
            r'show\.toml: show.fsp: no such key; did you mean "fps"',
        ),
        ("show.toml", '"1 s"', '"-1 s"', r"show\.toml: show.length: .*negative"),
        ("show.toml", '"1 s"', '"1000 h"', r"show\.toml: show.length: .*frames"),
        ("show.toml", '"1 s"', '"0 s"', r"show\.toml: show.length: .*0 frames"),
        (
            "show.toml",
            '"chase"',
            '"chas"',
            r'show\.toml: cue 1, layer 1, effect: no effect "chas"; perhaps chase: Run groups of light',
        ),
        (
            "show.toml",
            'palette = "two"',
            'palette = "tow"',
            r'show\.toml: cue 1, layer 1, palette: no palette "tow"; did you mean "two"',
        ),
        (
            "show.toml",
            'palette = "two"',
            "sped = 4",
            r'show\.toml: cue 1, layer 1, sped: .*did you mean "speed"',
        ),
        (
            "show.toml",
            'palette = "two"',
            'speed = "4 ft"',
            r'layer 1, speed: .*expected a speed such as "4 ft/s"',
        ),
        (
            "show.toml",
            'palette = "two"',
            "opacity = nan",
            r'layer 1, opacity: is nan; expected 0 to 1, or "0 %" to "100 %"',
        ),
        ("show.toml", 'palette = "two"', "opacity = 150", r"opacity: is 150; expected 0 to 1"),
        ("show.toml", 'palette = "two"', "opacity = 80", r'opacity: .*did you mean "80 %"'),
        (
            "show.toml",
            'palette = "two"',
            "speed = inf",
            r"show\.toml: cue 1, layer 1, speed: .*finite",
        ),
        (
            "show.toml",
            'palette = "two"',
            'on = ["main/rak-left"]',
            r'show\.toml: cue 1, layer 1, on.*main/rak-left.*did you mean "main/rake-left"',
        ),
        (
            "show.toml",
            'palette = "two"',
            'blend = "scren"',
            r'is "scren"; did you mean "screen"',
        ),
        (
            "show.toml",
            '"#ff0000"',
            '"#ff00"',
            r"palette\.two\.stops item 1: an LED can't be transparent",
        ),
        ("show.toml", '"#ff0000"', '"redd"', r"show\.toml: palette\.two\.stops.*redd"),
        (
            "show.toml",
            "[[cue]]",
            '[[cue]]\nstart = "2 s"',
            r"show\.toml: cue 1, start: starts at 2 s, but the show is 1 s",
        ),
        (
            "show.toml",
            "[[cue]]",
            '[[cue]]\nfade = "2 s"',
            r"show\.toml: cue 1, fade: the fades take 4 s",
        ),
        (
            "show.toml",
            "[[cue]]",
            "[[cu]]",
            r'show\.toml: cu: no such key; did you mean "cue"|show\.toml: cue: is missing',
        ),
    ],
)
def test_one_line_and_nothing_written(folder, lumenmap, file, old, new, says):
    edit(folder, file, old, new)
    done = lumenmap("make", folder / "show.toml", "-o", folder / "out")
    done.fails(2, says)
    assert not (folder / "out").exists() or not list((folder / "out").iterdir())


def test_a_cue_that_the_end_cuts_off_is_told(folder, lumenmap):
    edit(folder, "show.toml", "[[cue]]", '[[cue]]\nlength = "5 s"')
    edit(folder, "show.toml", 'palette = "two"', 'palette = "two"\nopacity = "80 %"')
    done = lumenmap("check", folder / "show.toml")
    assert 'cue "cue 1" (to 5 s): cut off where the show ends, at 1 s' in done.out


def test_a_loop_that_is_dark_at_both_ends_says_so(folder, lumenmap):
    edit(folder, "show.toml", "[[cue]]", '[[cue]]\nfade = "0.2 s"\nlength = "0.9 s"')
    assert "the loop starts and ends dark" in lumenmap("check", folder / "show.toml").out


def test_missing_show_and_folder_for_a_show(folder, lumenmap):
    lumenmap("make", folder / "shw.toml", "-o", folder / "o").fails(
        2, r'shw\.toml: no such file in .*did you mean "show\.toml"'
    )
    lumenmap("make", folder, "-o", folder / "o").fails(2, "is a folder; expected a show file")


def test_a_frames_folder_that_cant_be_written(folder, lumenmap):
    (folder / "file").write_text("")
    for where in (folder / "file", folder / "file" / "below"):
        lumenmap("make", folder / "show.toml", "-o", where).fails(2, "can't be written")
    lumenmap("preview", folder / "show.toml", "-o", folder / "no" / "a.gif").fails(
        2, r"a\.gif: can't be written: No such file"
    )


def test_ten_million_pixels_are_refused_before_they_are_made(folder, lumenmap):
    edit(folder, "house.toml", "width = 24", 'width = "300 m"')
    edit(folder, "house.toml", '"3 in"', '"0.03 mm"')
    lumenmap("check", folder / "show.toml").fails(2, r"house\.toml: .*pixels")


def test_all_mistakes_of_a_file_are_printed_with_their_lines(folder, lumenmap):
    """What the library finds is what a person reads: nothing is dropped on the way."""
    edit(folder, "show.toml", "fps = 10", "fsp = 10")
    edit(folder, "show.toml", 'length = "1 s"', 'length = "1 q"')
    done = lumenmap("check", folder / "show.toml")
    assert done.code == 2
    first, second = done.err.splitlines()
    assert first.startswith("show.toml: show.fsp: no such key") and first.endswith("(line 4)")
    assert second.startswith("show.toml: show.length: ") and second.endswith("(line 5)")


@pytest.mark.parametrize("command", [("check",), ("preview", "-o", "a.png"), ("make", "-o", "out")])
def test_a_folder_in_place_of_a_show_is_told_its_shows(folder, lumenmap, command):
    name, *rest = command
    rule = '[[rule]]\nname = "All"\nshow = "show.toml"\n'
    (folder / "almanac.toml").write_text(rule)  # names a show, and isn't one
    got = lumenmap(name, folder, *(folder / r if "." in r else r for r in rest))
    assert got.code == 2
    assert f"is a folder; expected a show file, such as {folder / 'show.toml'}" in got.err
    assert "house.toml" not in got.err and "almanac.toml" not in got.err
    (folder / "show.toml").unlink()
    got = lumenmap(name, folder, *(folder / r if "." in r else r for r in rest))
    assert got.err.rstrip().endswith("is a folder; expected a show file")


def test_a_folder_written_as_a_dot_is_called_by_its_name(folder, lumenmap, monkeypatch):
    monkeypatch.chdir(folder)
    got = lumenmap("check", ".")
    assert got.code == 2 and got.err.startswith(f"{folder.name}: is a folder; expected a show file")


@pytest.mark.parametrize("command", [["locate", "ends"], ["survey"], ["marks"]])
def test_a_folder_is_as_good_as_its_house_file(folder, lumenmap, command):
    name, *rest = command
    words = [*rest, "-o", folder / "a.rgb"] if name != "marks" else []
    assert lumenmap(name, folder, *words).out == lumenmap(name, folder / "house.toml", *words).out


def test_a_file_in_place_of_a_folder_to_write_is_refused(folder, lumenmap):
    got = lumenmap("sheets", folder, "-o", folder / "sheets.pdf")
    assert got.code == 2 and not (folder / "sheets.pdf").exists()
    assert "sheets.pdf: is the name of a file, and several are written" in got.err
    assert "expected a folder, such as sheets" in got.err
    assert lumenmap("sheets", folder, "-o", folder / "v1.2").code == 0


@pytest.mark.parametrize(
    "command",
    [
        ["check", "SHOW", "--house", "HOME"],
        ["try", "still", "--at", "1", "--width", "128", "-o", "HOME/a.png", "--house", "HOME"],
        ["palette", "check", "frost", "--house", "HOME"],
    ],
    ids=lambda c: c[0],
)
def test_an_option_takes_a_folder_for_its_house_file_too(folder, lumenmap, command):
    named = {"SHOW": folder / "show.toml", "HOME": folder, "HOME/a.png": folder / "a.png"}
    got = lumenmap(*(named.get(word, word) for word in command))
    assert "is a folder" not in got.err
    named["HOME"] = folder / "house.toml"
    same = lumenmap(*(named.get(word, word) for word in command))
    assert (got.code, got.out) == (same.code, same.out) and got.code == 0


def test_what_to_do_next_can_be_typed_as_it_is_printed(tmp_path, lumenmap):
    """A folder's name may have a space."""
    home = tmp_path / "my house"
    said = lumenmap("new", home).out
    make = said[said.index("lumenmap make") :].strip()
    words = shlex.split(make)
    assert words[2:] == [str(home / "show.toml"), "-o", str(home / "out")]
    assert shlex.split(said.split("next: ")[1].splitlines()[0]) == ["lumenmap", "desk", str(home)]

"""A show folder from a stranger, full of tricks: nothing outside it is read or written.

An audit hook (sys.addaudithook, Python's own) sees every file that is opened, listed, linked,
renamed or removed, and every program that is started.
"""

import os
import sys

import pytest

SEEN: list[str] = []
WATCHED = [""]


def _hook(event, args):
    if WATCHED[0] and event.startswith(("open", "os.", "subprocess", "shutil", "glob")):
        for arg in args:
            if isinstance(arg, (str, bytes, os.PathLike)):
                path = os.fsdecode(arg)
                if path.startswith(WATCHED[0]) or event in ("subprocess.Popen", "os.system"):
                    SEEN.append(f"{event} {path}")


sys.addaudithook(_hook)

SHOW = '[show]\nname = "x"\nhouse = "house.toml"\nfps = 4\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\neffect = "gradient"\n'
PLACE = 'place = { latitude = 1.0, longitude = 0.0, timezone = "UTC" }\n'
RULE = '[[rule]]\nshow = "show.toml"\non = "every day"\n'


@pytest.fixture
def stranger(started, tmp_path_factory, monkeypatch):
    """The stranger's folder, and a precious folder elsewhere; afterwards that one is untouched."""
    outside = tmp_path_factory.mktemp("precious")
    for file in ("house.toml", "show.toml"):
        (outside / file).write_text((started / file).read_text())
    (outside / "photo.png").write_bytes(b"\x89PNG precious")
    (outside / "drill-A.nc").write_text("G21")
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in outside.iterdir()}
    (started / "show.toml").write_text(SHOW)
    (started / "almanac.toml").write_text(f'[almanac]\nhouse = "house.toml"\n{PLACE}{RULE}')
    SEEN.clear()
    monkeypatch.chdir(started)
    WATCHED[0] = str(outside)
    yield started, outside
    WATCHED[0] = ""
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in outside.iterdir()} == before
    # Making and asking about a link names the place; opening it is what counts.
    assert [s for s in SEEN if not s.startswith(("os.symlink", "os.link"))] == []


def edit(path, old, new):
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))


def linked(folder, name, target):
    (folder / name).unlink(missing_ok=True)
    (folder / name).symlink_to(target)


HOUSES = {
    "above": "../{}/house.toml",
    "absolute": "{full}/house.toml",
    "not a path": "house\\u0000.toml",
    "the folder itself": ".",
    "nothing": "",
    "a device": "/dev/zero",
    "long": "h" * 5000,
    "a url": "file://{full}/house.toml",
}


@pytest.mark.parametrize("trick", HOUSES)
@pytest.mark.parametrize("file", ["show.toml", "almanac.toml"])
def test_a_house_that_lies_elsewhere(stranger, lumenmap, trick, file):
    folder, outside = stranger
    named = HOUSES[trick].format(outside.name, full=outside)
    edit(folder / file, 'house = "house.toml"', f'house = "{named}"')
    if file == "almanac.toml":
        edit(folder / file, PLACE, "")  # so that the house's is looked for
        got = lumenmap("run", file, "--to", "127.0.0.1", "--systemd")
    else:
        got = lumenmap("make", file, "-o", "out")
    assert got.code == 2 and len(got.err) < 1000, got


@pytest.mark.parametrize("name", ["house.toml", "show.toml"])
def test_a_link_to_a_file_elsewhere(stranger, lumenmap, name):
    folder, outside = stranger
    linked(folder, name, outside / name)
    got = lumenmap("run", "almanac.toml", "--to", "127.0.0.1", "--systemd")
    assert got.code == 2 and "outside the almanac's folder" in got.err
    if name == "house.toml":
        lumenmap("check", "show.toml").fails(2, "outside the show's folder")


def test_links_in_a_circle(stranger, lumenmap):
    folder, _ = stranger
    linked(folder, "house.toml", "house.toml")
    assert lumenmap("check", "show.toml").code == 2


@pytest.mark.parametrize("name", ["../{}/photo.png", "{full}/photo.png", "link.png"])
def test_a_picture_that_lies_elsewhere(stranger, lumenmap, name):
    folder, outside = stranger
    linked(folder, "link.png", outside / "photo.png")
    named = name.format(outside.name, full=outside)
    edit(folder / "show.toml", '"gradient"', f'"picture"\nfile = "{named}"')
    lumenmap("check", "show.toml").fails(2, "outside the folder")


def test_an_output_folder_that_is_a_link(stranger, lumenmap):
    folder, outside = stranger
    linked(folder, "out", outside)
    for words in (["make", "show.toml"], ["sheets", "house.toml"], ["export", "show.toml"]):
        lumenmap(*words, "-o", "out").fails(2, "out: is a link")


@pytest.mark.parametrize("name", ["frames.rgb", "preview.gif", ".lumenmap-files.json"])
def test_an_output_file_that_is_a_link(stranger, lumenmap, name):
    folder, outside = stranger
    (folder / "out").mkdir()
    linked(folder / "out", name, outside / "photo.png")
    lumenmap("make", "show.toml", "-o", "out").fails(2, "is a link")


def test_a_lock_and_a_state_that_are_links(stranger, lumenmap):
    folder, outside = stranger
    (folder / "out").mkdir()
    linked(folder / "out", ".lumenmap-lock", outside / "photo.png")
    assert lumenmap("make", "show.toml", "-o", "out").code == 0
    linked(folder, ".lumenmap", outside)
    got = lumenmap("run", "almanac.toml", "--to", "127.0.0.1")
    assert got.code == 2 and ".lumenmap: is a link" in got.err


def test_a_cache_left_in_the_folder_is_not_used(stranger, lumenmap):
    folder, outside = stranger
    (folder / ".lumenmap").mkdir()
    linked(folder / ".lumenmap", ".gitignore", outside / "photo.png")
    linked(folder / ".lumenmap", f"picture-{'0' * 24}.npz", outside / "photo.png")
    assert lumenmap("preview", "show.toml", "-o", "a.png", "--width", "64").code == 0


def test_code_in_the_folder_is_not_run(stranger, lumenmap):
    folder, outside = stranger
    evil = f"open({str(outside / 'photo.png')!r}, 'w')\n"
    for name in ("gradient.py", "sitecustomize.py", "numpy.py", "lumenmap.py", "conftest.py"):
        (folder / name).write_text(evil)
        (folder / "effects").mkdir(exist_ok=True)
        (folder / "effects" / name).write_text(evil)
    assert lumenmap("check", "show.toml").code == 0


@pytest.mark.parametrize("what", ["huge", "nested", "binary", "other"])
def test_files_that_are_too_much(stranger, lumenmap, what):
    folder, _ = stranger
    content = {
        "huge": b"# " + b"x" * 3_000_000,
        "nested": b"a = " + b"[" * 100_000,
        "binary": bytes(range(256)) * 100,
        "other": b"%!PS-Adobe-3.0\n",
    }[what]
    for file in ("show.toml", "house.toml"):
        (folder / file).write_bytes(content)
        got = lumenmap("check", "show.toml")
        assert got.code == 2 and len(got.err) < 1000


MARKUP = ["<script>alert(1)</script>", "&amp;<b>", "]]><!--", "$(id) `id`", "%n%s", "=cmd()|' '!A0"]


@pytest.mark.parametrize("name", MARKUP)
def test_markup_in_names_is_text(stranger, lumenmap, name):
    folder, _ = stranger
    edit(folder / "show.toml", 'name = "x"', f'name = "{name}"')
    got = lumenmap("preview", "show.toml", "-o", "a.html", "--width", "64")
    assert got.code == 0, got
    page = (folder / "a.html").read_text("utf-8")
    assert "<script>alert" not in page and "<b>" not in page.replace("<body>", "")


@pytest.mark.parametrize("escape", ["\\u001b[2J", "\\u0000", "\\n", "\\u202e", "\\u009b31m"])
def test_escapes_in_names_are_refused(stranger, lumenmap, escape):
    folder, _ = stranger
    edit(folder / "show.toml", 'name = "x"', f'name = "a{escape}b"')
    got = lumenmap("check", "show.toml")
    assert got.code == 2 and all(c.isprintable() or c == "\n" for c in got.err)

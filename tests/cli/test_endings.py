"""Exit codes and last words: 0 done, 1 a check failed, 2 the input is wrong, 70 our own fault."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from lumenmap.core.errors import InputError
from tests.one_process import one_after_another

SHORT = """
[show]
name = "NAME"
house = "house.toml"
fps = 10
length = "1 s"
[[cue]]
[[cue.layer]]
effect = "gradient"
"""


def run(*words, **kw):
    kw = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "timeout": 120} | kw
    return subprocess.run([sys.executable, "-m", "lumenmap", *map(str, words)], **kw)


def fault(*args, **kw):
    raise KeyError("x\x1b[31m")


def test_ctrl_c_while_it_loads_is_one_line(started, lumenmap, monkeypatch):
    """On a busy machine that takes seconds; shells report 128 + SIGINT."""

    def interrupted(names):
        raise KeyboardInterrupt

    monkeypatch.setattr("lumenmap.cli.register", interrupted)
    got = lumenmap("map", started / "house.toml")
    assert (got.code, got.out, got.err) == (130, "", "stopped; no file is half-written\n")


@pytest.mark.parametrize("code", [0, 2])
def test_a_process_ends_with_all_that_was_printed_and_registered(code, monkeypatch):
    """What a library leaves to be done last is done, though the interpreter isn't taken apart."""
    monkeypatch.delenv("PYTHONUNBUFFERED", raising=False)
    text = f"""
import atexit, sys
import lumenmap.cli as cli

def main():
    atexit.register(print, "told last")
    print("done", end=" ")
    sys.exit({code})

cli.main = main
cli.program()
"""
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (code, "done told last\n", "")


def test_our_own_fault_has_its_code_and_says_how_to_report_it(started, lumenmap, monkeypatch):
    monkeypatch.setattr("lumenmap.house.reading.load.load_toml", fault)
    got = lumenmap("map", started / "house.toml")
    assert got.code == 70 and got.out == ""
    (line,) = got.err.splitlines()
    assert line.startswith("lumenmap has a fault: KeyError: 'x\\x1b[31m' (test_endings.py line ")
    assert "run the command again with --debug" in line


@pytest.mark.parametrize("way", ["before", "after", "environment"])
def test_debug_shows_the_traceback(started, lumenmap, monkeypatch, way):
    monkeypatch.setattr("lumenmap.house.reading.load.load_toml", fault)
    words = ["map", started / "house.toml"]
    if way == "environment":
        monkeypatch.setenv("LUMENMAP_DEBUG", "1")
    else:
        words.insert(0 if way == "before" else 2, "--debug")
    with pytest.raises(KeyError):
        lumenmap(*words)


def test_debug_changes_nothing_else(started, lumenmap):
    assert lumenmap("--debug", "map", started / "house.toml").code == 0
    with pytest.raises(InputError):
        lumenmap("map", started / "nope.toml", "--debug")


@pytest.mark.parametrize("words", [["help", "house"], ["--version"], ["map", "HOUSE"]])
def test_a_pipe_closed_early_is_no_error(started, words):
    reader, writer = os.pipe()
    os.close(reader)
    try:
        got = run(*[started / "house.toml" if w == "HOUSE" else w for w in words], stdout=writer)
    finally:
        os.close(writer)
    assert (got.returncode, got.stderr) == (0, b"")


@pytest.mark.parametrize("words", [["help", "house"], ["--version"], ["map", "HOUSE"]])
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_full_disk_behind_the_output(started, words):
    with Path("/dev/full").open("wb") as full:
        got = run(*[started / "house.toml" if w == "HOUSE" else w for w in words], stdout=full)
    assert got.returncode == 2
    assert got.stderr == b"the output can't be written: No space left on device\n"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "koi8-r"])
def test_a_terminal_that_is_not_utf_8(started, encoding):
    """ASCII, one that has ü, one that has other letters; none has an arrow."""
    show, out = started / "show.toml", started / "öut"
    show.write_text(SHORT.replace("NAME", "Grüße →"), "utf-8")
    env = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0", "LC_ALL": "C"}
    words = [["make", show, "-o", out, "--width", 64], ["check", show]]
    got = one_after_another(words, env=env)
    assert (got.returncode, got.stderr) == (0, b"")
    assert b"Gr" in got.stdout and b"\\u2192" in got.stdout
    made, checked = (line for line in got.stdout.splitlines() if b"\\u2192" in line)
    assert made == checked and (b"\xfc" in made) == (encoding == "cp1252")
    assert b"\r" not in (out / "report.json").read_bytes()


def test_an_effect_that_ends_the_program_is_wrong_input(started, lumenmap):
    (started / "fx").mkdir()
    (started / "fx" / "bad.py").write_text(
        'import sys\n\n\ndef bad(at, t, palette, /):\n    """End the program."""\n    sys.exit(0)\n'
    )
    (started / "bad.toml").write_text(
        '[show]\nhouse = "house.toml"\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\neffect = "bad"\n'
    )
    got = lumenmap("check", started / "bad.toml", "--effects", started / "fx")
    assert got.code == 2 and len(got.err.splitlines()) == 1
    assert "bad.py" in got.err and "Traceback" not in got.err


SEEN = ["--stand", "3,-20,5", "--look-at", "3,0,3"]


@pytest.mark.parametrize("option", ["--at", "--fps", "--max-mb", "--lens", "--width"])
@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e308", "-1"])
def test_numbers_that_are_no_numbers(started, lumenmap, option, value):
    got = lumenmap("preview", started / "show.toml", "-o", started / "a.png", *SEEN, option, value)
    assert got.code == 2, got
    assert "Traceback" not in got.err and "fault" not in got.err


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('house = "house.toml"', 'house = "house\\u0000.toml"'),
        ("[show]", '"a[" = 1\n[show]'),
        ("[show]", '"[0]" = 1\n[show]'),
        ("[show]", '"a\\u001b[31m" = 1\n[show]'),
        ("[show]", f'"{"k" * 3000}" = 1\n[show]'),
    ],
)
def test_odd_keys_and_paths(started, lumenmap, old, new):
    text = (started / "show.toml").read_text()
    assert old in text
    (started / "show.toml").write_text(text.replace(old, new, 1))
    got = lumenmap("check", started / "show.toml")
    assert got.code == 2 and len(got.err) < 1200
    assert all(c.isprintable() or c == "\n" for c in got.err), got.err


def test_a_state_that_is_a_file_or_a_link(started, lumenmap):
    (started / "almanac.toml").write_text(
        '[almanac]\nhouse = "house.toml"\nplace = { latitude = 1.0, longitude = 0.0, timezone = "UTC" }\n'
        '[[rule]]\nshow = "show.toml"\non = "friday"\n'
    )
    words = ["run", started / "almanac.toml", "--to", "127.0.0.1"]
    got = lumenmap(*words, "--state", started / "show.toml")
    assert got.code == 2 and "show.toml: is a file; expected a folder" in got.err
    (started / "elsewhere").mkdir()
    (started / ".lumenmap").symlink_to(started / "elsewhere")
    got = lumenmap(*words)
    assert got.code == 2 and ".lumenmap: is a link; name the folder" in got.err
    assert not list((started / "elsewhere").iterdir())

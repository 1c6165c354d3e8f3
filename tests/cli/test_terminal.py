"""What a person sees at a terminal: nothing wider than it, colour where it is liked.

In a pseudo-terminal, as POSIX has them; a pipe gets the lines as they are.
"""

import os
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.cli.shared import terminal
from lumenmap.cli.shared.terminal import coloured, folded
from lumenmap.sheets.plans.mapping import mapping
from tests.small_house import HOUSE

ESCAPE = "\x1b["
WORDS = st.lists(st.sampled_from(["8 ft", "1 1/2 in", "a", "supply", "52 %", "3.5 A"]), min_size=1)


@given(WORDS, st.integers(20, 90), st.integers(0, 4))
def test_a_folded_line_has_the_same_words_and_fits(words, wide, indent):
    line = " " * indent + " and ".join(words)
    got = folded(line, wide).splitlines()
    assert all(len(one) <= wide for one in got)
    assert " ".join(" ".join(got).split()) == line.strip()
    assert all(one.startswith(" " * (indent + 2)) for one in got[1:])
    for one in got:  # no figure is apart from its unit or its fraction
        assert not re.search(r"\d$", one) and not re.match(r" *(ft|in|%|A|\d/)", one)


def test_what_is_wrong_is_coloured_unless_it_is_not_liked(monkeypatch):
    """NO_COLOR by no-color.org: present and not empty."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert coloured("  WARNING: hot").startswith(f"  {ESCAPE}33m")
    assert coloured("DANGER: a fuse").startswith(f"{ESCAPE}31m")
    assert coloured("the WARNING: word") == "the WARNING: word"
    monkeypatch.setenv("NO_COLOR", "")
    assert ESCAPE in coloured("WARNING: hot")
    monkeypatch.setenv("NO_COLOR", "1")
    assert coloured("WARNING: hot") == "WARNING: hot"
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert coloured("WARNING: hot") == "WARNING: hot"


def at_terminal(columns, *words, errors=False, **more):
    """Return what a command prints to a terminal so wide; ``errors``: its progress too."""
    if sys.platform == "win32":
        pytest.skip("Windows has no pseudo-terminals of this kind")
    import fcntl
    import pty
    import struct
    import termios

    own, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    env = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "NO_COLOR")} | more
    command = [sys.executable, "-m", "lumenmap", *map(str, words)]
    bars = theirs if errors else subprocess.DEVNULL
    with subprocess.Popen(command, stdout=theirs, stderr=bars, env=env) as process:
        os.close(theirs)
        found = b""
        while True:
            try:
                some = os.read(own, 65536)
            except OSError:  # Linux, when the other end is closed
                break
            if not some:
                break
            found += some
    os.close(own)
    assert process.returncode == 0
    return found.decode().replace("\r\n", "\n")


@pytest.fixture
def house(tmp_path):
    (tmp_path / "house.toml").write_text(HOUSE)
    return tmp_path


@pytest.mark.parametrize("command", ["power", "map"])
def test_reports_fit_sixty_columns(house, command, lumenmap, monkeypatch):
    monkeypatch.chdir(house)  # a path is never folded, so that it can be copied
    text = at_terminal(60, command, ".", TERM="xterm", NO_COLOR="1")
    assert ESCAPE not in text
    assert max(map(len, text.splitlines())) <= 60
    piped = lumenmap(command, ".").out
    assert max(map(len, piped.splitlines())) > 60 and ESCAPE not in piped
    if command == "power":  # the same words, over more lines
        assert " ".join(text.split()) == " ".join(piped.split())


def test_a_plan_for_the_house_file_is_not_folded(monkeypatch, capsys):
    """It is copied from the terminal."""
    monkeypatch.setattr(terminal, "width", lambda: 20)
    line = 'at = "16 ft 8 in"  # where connector 2 is'
    terminal.say([line], fold=False)
    assert capsys.readouterr().out == f"{line}\n"
    terminal.say([line])
    assert len(capsys.readouterr().out.splitlines()) == 3


def test_a_narrow_map_has_all_that_a_wide_one_has(tmp_path):
    (tmp_path / "house.toml").write_text(HOUSE)
    found = mapping(tmp_path / "house.toml")
    wide, narrow = found.table(), found.table(60)
    assert wide != narrow and found.table(200) == wide
    for word in ("main/rake-left", "main/rake-right", "rake", "3 in", "1-62", "63-124", "62"):
        assert word in "\n".join(wide) and word in "\n".join(narrow)
    assert max(map(len, narrow)) <= 60
    assert len(narrow) > len(wide)


def test_what_is_assumed_is_one_line_and_all_lists_it(house, lumenmap):
    """Short by default: each of a house's assumptions is a sentence that stays the same."""
    short = lumenmap("power", house).out
    assert re.findall(r"ASSUMED: \d+ things about the wiring; --all lists them\.", short)
    assert short.count("ASSUMED") == 1
    assert lumenmap("power", house, "--all").out.count("ASSUMED") >= 5


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("sheets", "HOUSE", "-o", "OUT/sheets"), "drawing"),
        (("map", "HOUSE", "--picture", "OUT/map.svg"), "drawing"),
        (("palette", "show", "frost", "-o", "OUT/frost.png"), "drawing"),
        (("marks", "HOUSE"), "drawing"),
        (("power", "HOUSE", "--suggest"), "planning"),
    ],
    ids=lambda v: v[0] if isinstance(v, tuple) else "",
)
def test_what_takes_seconds_on_a_large_house_says_what_it_does(tmp_path, words, says):
    """A bar that moves, from the start, and goes away at the end."""
    (tmp_path / "house.toml").write_text(HOUSE)
    named = {"HOUSE": str(tmp_path), "OUT": str(tmp_path)}
    given = [named.get(w, w).replace("OUT/", f"{tmp_path}/") for w in words]
    shown = at_terminal(80, *given, errors=True, TERM="xterm")
    assert says in shown
    assert f"{ESCAPE}2K" in shown[shown.rindex(says) :]  # the line of the bar is cleared

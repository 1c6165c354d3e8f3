"""Effects that aren't ours can't spoil each other, the output, or the program."""

import json
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.frames.apart import Apart
from lumenmap.frames.evaluate import EffectError
from lumenmap.frames.purity import impure
from lumenmap.frames.render import render as render_here
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import load, render
from lumenmap.jobs.trial import trial
from lumenmap.jobs.workers import workers
from lumenmap.show.effects.registry import effects
from tests.small_house import WALL

EFFECT = '''
import os, random, sys, time
import numpy as np
calls = []
def odd(at, t, palette, /):
    """Do something odd."""
    light = palette(at.xyz[:, 0] + t)
    {}
    return light
'''
#: Seconds that a block may take here; the fair effect takes some milliseconds.
LIMIT = 3.0


@pytest.fixture
def odd(tmp_path):
    """Write a show with an effect of one's own, under another layer; return its two paths."""

    def write(body, *, more=""):
        folder = tmp_path / "mine"
        folder.mkdir(exist_ok=True)
        (folder / "odd.py").write_text(EFFECT.format(body) + more)
        (tmp_path / "house.toml").write_text(WALL)
        (tmp_path / "show.toml").write_text(
            '[show]\nhouse = "house.toml"\nfps = 20\nlength = "1 s"\n[[cue]]\n'
            '[[cue.layer]]\neffect = "gradient"\n'
            '[[cue.layer]]\neffect = "odd"\nopacity = 0.5\n'
            '[[cue.layer]]\neffect = "chase"\nopacity = 0.5\n'
        )
        return tmp_path / "show.toml", folder

    return write


@pytest.fixture
def project(odd):
    def made(body, **more):
        show, folder = odd(body, **more)
        return load(show, effect_folders=[folder])

    return made


@pytest.mark.parametrize(
    "body",
    [
        "at.xyz[0] = 9",
        "at.along_edge[:] = 0",
        "at.low -= 1",
        "at.corners['x'] = at.low",
        "t += 1",
        "palette.table[0] = 1",
        "palette.cyclic = not palette.cyclic",
    ],
)
def test_what_an_effect_is_given_is_read_only(project, body):
    with pytest.raises(EffectError, match=r'layer 2: effect "odd" .* raised .* at odd\.py line 8'):
        list(render_here(project(body).plan))


def test_what_an_effect_says_is_one_line_that_does_nothing_to_a_terminal(project):
    with pytest.raises(EffectError) as caught:
        list(render_here(project("raise ValueError('red\\x1b[31m\\nand more')").plan))
    assert r"raised ValueError: red\x1b[31m\nand more at odd.py line 8" in str(caught.value)


def test_it_stays_read_only_in_another_process(project):
    with pytest.raises(EffectError, match=r"raised ValueError: .*read-only"):
        list(render(project("at.xyz[0] = 9")))


def test_kept_results_are_read_only_too(project):
    more = (
        "from lumenmap.motion.kept import kept\n"
        "@kept(1)\ndef far(at): return at.xyz[:, 0] + 0, palette_sized(at)\n"
        "def palette_sized(at): return np.zeros((len(at.xyz), 4), 'f4')[:, :3]\n"
    )
    with pytest.raises(EffectError, match=r"raised ValueError: .*read-only"):
        list(render_here(project("far(at)[0][:] = 1", more=more).plan))
    with pytest.raises(EffectError, match=r"raised ValueError: .*read-only"):
        list(render_here(project("far(at)[1].base[:] = 1", more=more).plan))


def test_apart_gives_the_same_bytes(project):
    fair = project("pass")
    here = np.concatenate(list(render_here(fair.plan)))
    assert_array_equal(np.concatenate(list(render(fair, seconds=LIMIT * 10))), here)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("os._exit(0)", r"ended its process \(exit code 0\)"),
        ("os.kill(os.getpid(), 9)", r"ended its process \(signal 9\)"),
        ("sys.exit(0)", r"raised SystemExit: 0 at odd\.py line 8"),
        ("time.sleep(600)", r"took over 3 s for one block"),
    ],
)
def test_an_effect_takes_only_its_own_process_with_it(project, body, says):
    began = time.monotonic()
    with pytest.raises(EffectError, match=rf'cue 1, layer 2: effect "odd" \(.*mine\) {says}'):
        list(limited(project(body), seconds=LIMIT))
    assert time.monotonic() - began < 60


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("os._exit(0)", r"ended the process \(exit code 0\)"),
        ("os._exit(3)", r"ended the process \(exit code 3\)"),
        ("os.kill(os.getpid(), 9)", r"ended the process \((signal 9|exit code \d+)\)"),
        ("time.sleep(600)", "took over 2 s"),
    ],
)
def test_a_file_that_ends_the_process_while_it_is_loaded(odd, lumenmap, monkeypatch, more, says):
    """The command would end with exit code 0, and nothing done."""
    monkeypatch.setattr("lumenmap.show.effects.rehearsal.SECONDS", 2.0)
    show, folder = odd("pass", more=more)
    (folder / "even.py").write_text(EFFECT.format("pass").replace("odd", "even"))
    got = lumenmap("check", show, "--effects", folder)
    got.fails(2, rf"odd\.py: the effect file odd\.py can't be loaded: it {says}$")


def test_a_file_is_loaded_elsewhere_only_until_it_has_come_through(odd, tmp_path):
    """A long evening doesn't start a process for every show; a changed file is tried again."""
    show, folder = odd(
        "pass", more=f"with open({str(tmp_path / 'log')!r}, 'a') as f: f.write('x')\n"
    )
    for expected in (2, 3):  # elsewhere and here, then here alone
        load(show, effect_folders=[folder])
        assert len((tmp_path / "log").read_text()) == expected
    with (folder / "odd.py").open("a") as file:
        file.write("\n# changed\n")
    load(show, effect_folders=[folder])
    assert len((tmp_path / "log").read_text()) == 5


@pytest.mark.parametrize(
    ("body", "code", "says"),
    [
        ("print('hel', end='', flush=True); os.write(1, b'lo')", 0, "hello"),
        ("os._exit(0)", 2, "a worker process ended by itself. If an effect of your own ended it"),
        ("sys.exit(0)", 2, "raised SystemExit: 0 at odd.py line 8"),
        ("at.xyz[0] = 9", 2, "read-only at odd.py line 8"),
    ],
)
def test_on_workers_too_an_effect_spoils_nothing(odd, body, code, says):
    show, folder = odd(body)
    words = ["export", show, "-o", show.parent / "out", "--effects", folder, "--json"]
    words = [sys.executable, "-m", "lumenmap", *map(str, words), "--workers", "2"]
    done = subprocess.run(words, capture_output=True, text=True)
    assert done.returncode == code, done.stderr
    assert says in done.stderr and "fault" not in done.stderr
    assert json.loads(done.stdout)["problems"] == [] if code == 0 else done.stdout == ""


def test_workers_have_no_time_limit_and_say_so(project):
    with workers(2) as some, pytest.raises(ValueError, match="no time limit on workers"):
        list(limited(project("pass"), workers=some, seconds=LIMIT))


def test_the_process_is_gone_afterwards(project):
    before = threading.active_count()
    with Apart(project("pass").plan) as process:
        child = process._process
        assert child.poll() is None
    assert child.poll() is not None
    assert threading.active_count() <= before


@pytest.mark.skipif(sys.platform == "win32", reason="looks for the process in /proc")
def test_the_process_ends_with_whoever_started_it(odd, tmp_path):
    """Killed, with the effect in an endless loop: nothing is left running."""
    show, folder = odd(
        f"open({str(tmp_path / 'pid')!r}, 'w').write(str(os.getpid()))\n    while 1: pass"
    )
    words = [sys.executable, "-m", "lumenmap", "check", show, "--effects", folder]
    started = subprocess.Popen(list(map(str, words)))
    until = time.monotonic() + 60
    while not ((tmp_path / "pid").exists() and (tmp_path / "pid").read_text()):
        assert time.monotonic() < until
        time.sleep(0.05)
    started.kill()
    started.wait()
    child = int((tmp_path / "pid").read_text())
    while time.monotonic() < until and running(child):
        time.sleep(0.05)
    assert not running(child)


def running(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_what_it_prints_does_not_break_json(odd):
    body = "print('hello'); sys.stdout.write('x'); os.write(1, b'x')"
    show, folder = odd(body, more="\nprint('loaded')\n")
    words = [sys.executable, "-m", "lumenmap", "check", show, "--effects", folder, "--json"]
    done = subprocess.run(list(map(str, words)), capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["problems"] == []
    assert "loaded" in done.stderr


@pytest.mark.parametrize(
    ("body", "how"),
    [
        ("light *= np.float32(random.random())", "when asked twice"),
        ("calls.append(1); light *= np.float32(len(calls) % 7 / 7)", "when asked twice"),
        ("light *= np.float32(1 / len(t))", "when frames are asked for in two blocks"),
        ("light *= (t - t[0]).astype('f4')[:, :, None]", "when frames are asked for in two blocks"),
        ("light *= np.float32(1 / len(at.xyz))", "when the house is asked for in two halves"),
    ],
)
def test_check_finds_an_effect_that_depends_on_more_than_place_and_time(odd, lumenmap, body, how):
    show, folder = odd(body)
    done = lumenmap("check", show, "--effects", folder)
    assert done.code == 1, done
    line = next(x for x in done.out.splitlines() if "PROBLEM" in x)
    assert f'PROBLEM: cue 1, layer 2: effect "odd" ({folder}) gives different light {how}.' in line
    assert done.out.count("PROBLEM") == 1


def test_an_effect_that_returns_what_it_keeps_is_found(odd, lumenmap):
    """The renderer works in place on what it gets, so the second answer is another."""
    body = "calls.append(light) if not calls else None; light = calls[0][:len(t), :len(at.xyz)]"
    show, folder = odd(body)
    assert lumenmap("check", show, "--effects", folder).code in (1, 2)


@pytest.mark.parametrize("name", effects())
def test_the_installed_effects_are_pure(name):
    assert impure(trial(name, seconds=4).plan) == []


def test_a_limit_that_is_kept_changes_nothing(project):
    fair = project("pass")
    once, again = (
        [block.codes.tobytes() for block in limited(fair, seconds=limit)] for limit in (None, 60)
    )
    assert once == again

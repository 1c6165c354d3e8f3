"""A short run of the fuzzer: every kind of file, a few hundred cases; the long run is by hand."""

import sys
import tempfile
from pathlib import Path

import pytest

from tests import fuzz

pytestmark = pytest.mark.skipif(
    not hasattr(__import__("signal"), "SIGALRM"), reason="the fuzzer's time limit needs an alarm"
)
CASES = 120


@pytest.fixture(scope="module")
def found():
    with tempfile.TemporaryDirectory() as name:
        yield fuzz.prepare(Path(name))


def test_no_traceback_no_other_exit_code_not_too_long_not_too_large():
    bad = fuzz.batch(range(CASES), seed=2)
    assert not bad, "\n".join(f"case {c.number} {c.words}: {wrong}" for c, wrong in bad)


def test_the_cases_reach_every_file_and_command_and_are_the_same_each_time(found):
    cases = [fuzz.case(n, 2, found) for n in range(CASES)]
    assert cases == [fuzz.case(n, 2, found) for n in range(CASES)]
    assert {c.file for c in cases} == set(fuzz.COMMANDS)
    assert {c.words for c in cases} == {w for each in fuzz.COMMANDS.values() for w in each}


@pytest.mark.parametrize(
    ("ending", "says"),
    [
        (lambda: 1 / 0, "ZeroDivisionError"),
        (lambda: sys.exit(70), "exit code 70"),
        (lambda: sys.exit(2), "exit code 2 without a word"),
        (lambda: print("x: RuntimeWarning: y", file=sys.stderr), "a warning of Python's"),
        (lambda: __import__("time").sleep(5), "took over 1 s"),
        (lambda: bytearray(60_000_000).count(b"x"), "grew by"),
        (lambda: sys.exit(1), ""),
    ],
)
def test_the_fuzzer_sees_what_it_looks_for(tmp_path, monkeypatch, ending, says):
    monkeypatch.setattr("lumenmap.cli.main", ending)
    monkeypatch.setattr(fuzz, "SECONDS", 1)
    monkeypatch.setattr(fuzz, "MEGABYTES", 50)
    if says == "grew by" and not fuzz._peak():
        pytest.skip("the peak is read from /proc")
    got = fuzz.run(tmp_path, fuzz.Case(1, "house.toml", b"", ("map",)), b"good")
    assert says in got if says else not got
    assert (tmp_path / "house.toml").read_bytes() == b"good"

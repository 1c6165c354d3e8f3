"""A short run of the fuzzer: every kind of file, a few hundred cases; the long run is by hand."""

import itertools
import sys
import tempfile
from pathlib import Path

import pytest

from tests import fuzz
from tests.cli import fuzz_cases

pytestmark = pytest.mark.skipif(
    not hasattr(__import__("signal"), "SIGALRM"), reason="the fuzzer's time limit needs an alarm"
)
CASES = 120


@pytest.fixture(scope="module")
def found():
    with tempfile.TemporaryDirectory() as name:
        yield fuzz_cases.prepare(Path(name))


def test_no_traceback_no_other_exit_code_not_too_long_not_too_large():
    bad = fuzz.batch(range(CASES), seed=2)
    assert not bad, "\n".join(f"case {c.number} {c.words}: {wrong}" for c, wrong in bad)


def test_the_cases_reach_every_file_and_command_and_are_the_same_each_time(found):
    cases = [fuzz_cases.case(n, 2, found) for n in range(5000)]
    assert cases == [fuzz_cases.case(n, 2, found) for n in range(5000)]
    assert {fuzz_cases.kind_of(c.file) for c in cases} == set(fuzz_cases.COMMANDS)
    given = {" ".join(c.words) for c in cases if c.file}
    assert given == {w for file, (_, every) in fuzz_cases.COMMANDS.items() if file for w in every}
    changed = {c.words[:2] for c in cases if not c.file}
    assert {tuple(w.split()[:2]) for w in fuzz_cases.COMMANDS[""][1]} - changed <= {
        ("effects", "chase"),
        ("schema", "house"),
        ("help", "effects"),
    }


def test_no_case_sends_or_writes_elsewhere(found):
    for n in range(5000):
        words = fuzz_cases.case(n, 3, found).words
        assert words[0] not in ("stream", "run") or {"--dry-run", "--systemd"} & set(words)
        for option, value in itertools.pairwise(words):
            assert option not in ("-o", "--ics", "--photo", "--effects") or "DIR" in value
            assert option != "--to" or value == "127.0.0.1"


@pytest.mark.parametrize(
    ("ending", "says"),
    [
        (lambda: 1 / 0, "ZeroDivisionError"),
        (lambda: sys.exit(70), "exit code 70"),
        (lambda: sys.exit(2), "exit code 2 without a word"),
        (lambda: print("x: RuntimeWarning: y", file=sys.stderr), "a warning of Python's"),
        (lambda: __import__("time").sleep(5), "took over 0.3 s"),
        (lambda: all(True for _ in itertools.repeat(1)), "took over 0.3 s"),
        (lambda: bytearray(100_000_000).count(b"x"), "grew by"),
        (lambda: sys.exit(1), ""),
    ],
)
def test_the_fuzzer_sees_what_it_looks_for(tmp_path, monkeypatch, ending, says):
    monkeypatch.setattr("lumenmap.cli.main", ending)
    if "took over" in says:  # the others have their time, however busy the machine is
        monkeypatch.setattr(fuzz, "SECONDS", 0.3)
        monkeypatch.setattr(fuzz, "WAITS", 2)
    monkeypatch.setattr(fuzz, "MEGABYTES", 50)
    if says == "grew by" and not fuzz._peak():
        pytest.skip("the peak is read from /proc")
    got = fuzz.run(tmp_path, fuzz_cases.Case(1, "house.toml", b"", ("map",)), b"good")
    assert says in got if says else not got
    assert (tmp_path / "house.toml").read_bytes() == b"good"

"""What holds for every test: numpy faults raise, and no test writes outside its own folder."""

import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest


@pytest.fixture(autouse=True)
def _numpy_faults_raise():
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        yield


@pytest.fixture(scope="session")
def examples() -> Path:
    """The folder of example houses."""
    return Path(__file__).resolve().parents[1] / "examples"


@dataclass
class Done:
    """What a run of the command left."""

    code: int
    out: str
    err: str

    def fails(self, code: int, pattern: str) -> None:
        """It ended with this code and a line for each mistake; below it the file's own, if any."""
        assert self.code == code, self
        first, *excerpt = self.err.rstrip().splitlines()
        assert first == first.lstrip()
        assert all(re.match(r"\S+\.toml: |.* \| ", line) for line in excerpt), self.err
        assert re.search(pattern, self.err), self.err


@pytest.fixture
def lumenmap(monkeypatch, capsys):
    """Run the command line in this process."""
    from lumenmap.cli import main

    def run(*words) -> Done:
        monkeypatch.setattr(sys, "argv", ["lumenmap", *map(str, words)])
        capsys.readouterr()
        try:
            main()
            code = 0
        except SystemExit as stop:
            code = stop.code or 0
        got = capsys.readouterr()
        return Done(code, got.out, got.err)

    return run

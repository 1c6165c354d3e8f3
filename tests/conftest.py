"""What holds for every test: numpy faults raise, and no test writes outside its own folder."""

import gc
import os
import re
import signal
import sys
import warnings
from dataclasses import dataclass
from pathlib import Path

# As commands do. Several test processes share the processors; threads that wait for each other in
# each of them would take as long again. OpenBLAS reads this when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pytest

# Whoever wants no bytecode beside the sources gets it among pytest's own files. Without any, each
# process that a test starts would compile all of lumenmap again.
if sys.dont_write_bytecode:
    sys.dont_write_bytecode = False
    sys.pycache_prefix = str(Path(__file__).parents[1] / ".pytest_cache" / "bytecode")
    del os.environ["PYTHONDONTWRITEBYTECODE"]
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix

# Hypothesis calls the plugins that other packages bring when it is first imported. What they warn
# of is not ours, and must not turn red whichever test file happens to come first.
with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from hypothesis import HealthCheck, settings

from tests.chromium import chromium

# One profile for every property test. A busy machine stretches time, so time is no reason to fail;
# a test that needs more or fewer examples says so beside itself.
settings.register_profile(
    "busy", max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("busy")


def pytest_configure():
    """Refuse loops that were compiled before their sources changed: errors would be riddles."""
    inner = Path(__file__).parents[1] / "lumenmap" / "pictures" / "inner"
    compiled = [file.stat().st_mtime for file in inner.glob("_loops*.so")]
    if compiled and max(file.stat().st_mtime for file in inner.glob("c/*")) > max(compiled):
        raise pytest.UsageError(
            "lumenmap/pictures/inner/c has changed since it was compiled; pip install --no-deps -e ."
        )


def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.fixture(autouse=True, scope="module")
def _quick_garbage():
    """Each stream collects garbage first; what is there by now needs no look each time."""
    gc.collect(1)
    gc.freeze()


@pytest.fixture(autouse=True, scope="module")
def _examples_stay_as_they_are():
    """A test that edits an example copies it first; its own file is what people get."""
    before = _files_of_examples()
    yield
    assert _files_of_examples() == before, "a test changed an example's own file"


def _files_of_examples():
    """Each file of the examples that people get, with its size and when it was changed."""
    root = Path(__file__).parents[1] / "examples"
    files = (f for f in root.rglob("*") if f.is_file() and f.suffix in (".toml", ".png", ".py"))
    return {f.relative_to(root): (f.stat().st_size, f.stat().st_mtime_ns) for f in files}


@pytest.fixture(autouse=True, scope="session")
def _folders_of_a_user_who_is_no_one(tmp_path_factory):
    """Caches, state and palettes of the tests are not those of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_CACHE_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
            patch.setenv(name, str(tmp_path_factory.mktemp(name.lower())))
        yield


@pytest.fixture(autouse=True)
def _numpy_faults_raise():
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        yield


@pytest.fixture(scope="session")
def browser():
    """A browser that tells what it asks for, which nearly all pages share."""
    made = chromium(requests=True)
    yield made
    made.quit()


@pytest.fixture(scope="session")
def examples() -> Path:
    """The folder of example houses."""
    return Path(__file__).resolve().parents[1] / "examples"


@pytest.fixture
def started(tmp_path) -> Path:
    """A folder as ``lumenmap new`` leaves it, in metres."""
    from lumenmap.starter.start import start

    start(tmp_path, metric=True)
    return tmp_path


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
        # Commands that stream take the signals; what the tests run in is to be stopped by them.
        before = {s: signal.getsignal(s) for s in (signal.SIGINT, signal.SIGTERM)}
        try:
            main()
            code = 0
        except SystemExit as stop:
            code = stop.code or 0
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
        got = capsys.readouterr()
        return Done(code, got.out, got.err)

    return run

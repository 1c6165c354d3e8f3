"""Help is quick, and every command shows an example."""

import subprocess
import sys

import pytest

from lumenmap.cli import COMMANDS
from lumenmap.pictures import inner
from lumenmap.pictures.inner import plain

HEAVY = ("numpy", "pydantic", "scipy", "PIL", "rich.progress")


def test_help_loads_nothing_heavy():
    code = (
        "import sys; sys.argv = ['lumenmap', '--help']\n"
        "from lumenmap.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print([m for m in {HEAVY} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


#: What no show of installed effects has a use for: pools and other processes, effects that it
#: hasn't, Pillow.
IDLE = (
    *("imageio", "PIL", "concurrent.futures.process", "lumenmap_effects.travel"),
    *("lumenmap.almanac", "lumenmap.desk", "lumenmap.frames.apart", "plugged_in"),
)
#: What a check has no use for besides: pictures, and arrays with holes, which take 25 ms and which
#: numpy loads for `unique` and `median`.
UNUSED = (*IDLE, "scipy", "lumenmap.pictures", "numpy.ma")


@pytest.fixture
def plug_in(tmp_path, monkeypatch):
    """A package that says it is a plug-in of pydantic."""
    (tmp_path / "plugged_in.py").write_text("plugin = None\n")
    told = tmp_path / "plugged_in-1.0.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: plugged-in\nVersion: 1.0\n")
    (told / "entry_points.txt").write_text("[pydantic]\nmine = plugged_in:plugin\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.delenv("PYDANTIC_DISABLE_PLUGINS", raising=False)


def test_a_check_loads_only_what_it_uses_and_searches_none_of_it_for_garbage(examples, plug_in):
    """What stays until the process ends is searched neither while it is made nor then."""
    show = examples / "alder-cottage" / "candles.toml"
    code = (
        f"import gc, sys; sys.argv = ['lumenmap', 'check', {str(show)!r}]\n"
        "def seen(phase, _):\n"
        "    if gc.get_threshold()[0] > 2000: print('searched', phase)\n"
        "gc.callbacks.append(seen)\n"
        "import lumenmap.cli as cli\n"
        "main = cli.main\n"
        "def told():\n"
        "    try: main()\n"
        f"    finally: print(gc.get_threshold()[0], sorted({{*{UNUSED}}} & {{*sys.modules}}))\n"
        "cli.main = told\n"
        "cli.program()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "searched" not in done.stdout, done.stdout
    assert done.stdout.splitlines()[-1] == "200000 []", done.stdout


def test_make_loads_only_what_it_uses(examples, plug_in, tmp_path, monkeypatch):
    """Nor does it load scipy, which takes as long as the light of a house, to work that out."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    unused = IDLE if inner.Painter is plain.Painter else (*IDLE, "scipy")
    show, out = examples / "alder-cottage" / "candles.toml", tmp_path / "out"
    code = (
        "import atexit, sys\n"
        f"sys.argv = ['lumenmap', 'make', {str(show)!r}, '-o', {str(out)!r}, '--width', '64']\n"
        f"atexit.register(lambda: print([m for m in {unused} if m in sys.modules]))\n"
        "from lumenmap.cli import main\n"
        "main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]", done.stdout


def test_the_version_loads_no_command():
    code = (
        "import atexit, sys; sys.argv = ['lumenmap', '--version']\n"
        "atexit.register(lambda: print([m for m in sys.modules if 'cli.m' in m]))\n"
        "from lumenmap.cli import main\n"
        "main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("command", [c.rstrip("_") for c in COMMANDS])
def test_every_command_has_help_with_an_example(lumenmap, command):
    done = lumenmap(command, "--help")
    assert done.code == 0
    words = " ".join(done.out.split())
    assert f"Example: lumenmap {command}" in words or "Commands:" in done.out, done.out


def test_top_help_names_the_first_step_and_every_command(lumenmap):
    out = lumenmap("--help").out
    assert "lumenmap new" in out
    for command in COMMANDS:
        assert f"\n  {command.rstrip('_')}" in out


def test_version(lumenmap):
    assert lumenmap("--version").out.startswith("lumenmap 0.")

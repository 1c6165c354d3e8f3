"""Help is quick, and every command shows an example."""

import subprocess
import sys

import pytest

from lumenmap.cli import COMMANDS

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


#: What a check has no use for: pictures, pools of processes, effects that the show hasn't.
UNUSED = ("scipy", "concurrent.futures.process", "lumenmap.pictures", "lumenmap_effects.travel")


def test_a_check_loads_only_what_it_uses_and_searches_none_of_it_for_garbage(examples):
    """Neither while it runs nor when the interpreter ends, where what is frozen is left out."""
    show = examples / "alder-cottage" / "candles.toml"
    code = (
        f"import atexit, gc, sys; sys.argv = ['lumenmap', 'check', {str(show)!r}]\n"
        "searches = []\n"
        "def seen(phase, _):\n"
        "    if gc.get_threshold()[0] > 2000: searches.append(phase)\n"
        "gc.callbacks.append(seen)\n"
        f"loaded = lambda: [m for m in {UNUSED} if m in sys.modules]\n"
        "atexit.register(lambda: print(gc.get_freeze_count() > 50_000, searches, loaded()))\n"
        "from lumenmap.cli import main\n"
        "main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "True [] []", done.stdout


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

"""The tests of files once more, with Windows' rules laid over this machine; see `windows`."""

import ast
import errno
import os
from pathlib import Path

import pytest

from lumenmap.core import system
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from tests.core import test_files, test_output_set
from tests.core.test_output_set import told  # noqa: F401 (a fixture)

pytest.importorskip("fcntl", reason="these rules hold here anyway")

from tests.core.windows import lay_over

PACKAGE = Path(__file__).resolve().parents[2] / "lumenmap"
#: These start other processes, over which nothing is laid, or look at permissions.
NOT_HERE = {
    "test_killed_at_any_step_the_set_is_all_old_or_all_new",
    "test_killed_writers_never_mix_a_set",
    "test_only_one_holds_the_lock_of_many",
    "test_the_umask_is_left_alone",
    "test_a_new_file_has_the_permissions_that_the_umask_leaves",
}
for module in (test_files, test_output_set):
    names = [n for n in vars(module) if n.startswith("test_") and n not in NOT_HERE]
    globals().update({n: vars(module)[n] for n in names})


@pytest.fixture(autouse=True)
def _windows(monkeypatch):
    lay_over(monkeypatch)


def test_the_rules_hold(tmp_path):
    """What went wrong before: each of these calls must fail here."""
    with pytest.raises(PermissionError):
        os.open(tmp_path, os.O_RDONLY)
    with pytest.raises(AssertionError):
        os.kill(os.getpid(), 0)
    (tmp_path / "a").write_bytes(b"")
    with (tmp_path / "a").open("rb") as file:
        with pytest.raises(AssertionError):
            os.fsync(file.fileno())
        with pytest.raises(PermissionError):
            (tmp_path / "a").unlink()


def test_a_file_that_another_program_has_open_is_waited_for_and_then_said(tmp_path, monkeypatch):
    write_whole(tmp_path / "a", "old")
    with (
        (tmp_path / "a").open("rb"),
        pytest.raises(InputError, match="a: can't be written: used by another process"),
    ):
        write_whole(tmp_path / "a", "new")
    assert (tmp_path / "a").read_text() == "old" and len(list(tmp_path.iterdir())) == 1
    tries, replace = [], os.replace

    def busy_twice(*paths):
        tries.append(paths)
        if len(tries) < 3:
            raise PermissionError(errno.EACCES, "used by another process")
        replace(*paths)

    monkeypatch.setattr(os, "replace", busy_twice)
    write_whole(tmp_path / "a", "new")
    assert (tmp_path / "a").read_text() == "new" and len(tries) == 3


def test_make_writes_the_same_bytes(started, lumenmap, monkeypatch):
    """The whole job under these rules, and under this machine's."""
    words = ["make", started / "show.toml", "--width", "64", "-o"]
    show = started / "show.toml"
    show.write_text(show.read_text().replace("fps = 30", "fps = 5"))
    got = lumenmap(*words, started / "there")
    assert (got.code, got.err) == (0, "")
    monkeypatch.undo()
    done = lumenmap(*words, started / "here")
    assert done.code == 0
    for file in (started / "here").iterdir():
        assert file.read_bytes() == (started / "there" / file.name).read_bytes(), file.name


def _calls(name):
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == name:
                yield path, node, {k.arg for k in node.keywords}


def test_no_text_is_written_as_the_system_would_like_it():
    """Bytes are the same everywhere; text would get a code page and other line ends."""
    assert [path for path, _, _ in _calls("write_text")] == []
    for path, node, keywords in _calls("read_text"):
        assert node.args or "encoding" in keywords, f"{path.name}: {node.lineno}"
    for path, node, keywords in _calls("open"):
        mode = node.args[0].value if node.args and isinstance(node.args[0], ast.Constant) else ""
        if mode in ("w", "a", "x"):
            assert {"newline", "encoding"} <= keywords, f"{path.name}: {node.lineno}"


def test_only_one_file_asks_which_system_it_runs_on():
    asked = set()
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text("utf-8")
        if any(w in text for w in ("sys.platform", "os.name", "import fcntl", "import msvcrt")):
            asked.add(path.relative_to(PACKAGE).as_posix())
    assert asked == {"core/system.py", "core/parallel.py"}
    assert system.WINDOWS  # as laid over

"""Free memory is that of the machine or of its container; too much is refused before the work."""

import subprocess
import sys

import psutil
import pytest

from lumenmap.core import estimate
from lumenmap.core.errors import InputError
from lumenmap.core.estimate import free_bytes, require_memory, size


def test_the_machine():
    available = psutil.virtual_memory().available
    assert free_bytes() <= psutil.virtual_memory().total
    assert free_bytes() == pytest.approx(available, rel=0.5) or free_bytes() < available


@pytest.mark.parametrize(
    ("most", "used", "expected"),
    [("3000000\n", "1000000\n", 2_000_000), ("100", "300", 0), ("1 x", "1", 0)],
)
def test_a_container(tmp_path, monkeypatch, most, used, expected):
    """Files as the kernel's documentation describes them: admin-guide/cgroup-v2, memory.max [P]."""
    (tmp_path / "max").write_text(most)
    (tmp_path / "current").write_text(used)
    monkeypatch.setattr(estimate, "_GROUPS", ((str(tmp_path / "max"), str(tmp_path / "current")),))
    assert free_bytes() == expected


@pytest.mark.parametrize("most", ["max", "", "0x"])
def test_a_container_without_a_limit(tmp_path, monkeypatch, most):
    (tmp_path / "max").write_text(most)
    (tmp_path / "current").write_text("300")
    monkeypatch.setattr(
        estimate, "_GROUPS", ((str(tmp_path / "max"), str(tmp_path / "current")), ("/no", "/no"))
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(psutil, "virtual_memory", lambda: type("M", (), {"available": 77})())
        assert free_bytes() == 77


@pytest.mark.skipif(sys.platform != "linux", reason="limits of a process's memory are Linux's")
def test_a_limit_of_the_process():
    code = (
        "import resource; from lumenmap.core.estimate import free_bytes\n"
        "resource.setrlimit(resource.RLIMIT_AS, (900 << 20, 900 << 20)); print(free_bytes())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert 500 << 20 < int(done.stdout) < 900 << 20


def test_both_figures_and_what_to_do(monkeypatch):
    monkeypatch.setattr(estimate, "free_bytes", lambda: 6_000_000_000)
    require_memory(5.9e9, "make it smaller")
    with pytest.raises(
        InputError, match=r"^width: would need 9 GB of memory, 6 GB is free: make it smaller$"
    ):
        require_memory(9.02e9, "make it smaller", key="width")


def test_small_jobs_are_never_refused(monkeypatch):
    monkeypatch.setattr(estimate, "free_bytes", lambda: 0)
    require_memory(1e8, "")


@pytest.mark.parametrize(
    ("count", "text"), [(1e9, "1 GB"), (994e6, "990 MB"), (12.6e9, "13 GB"), (1.2e13, "12,000 GB")]
)
def test_sizes(count, text):
    assert size(count) == text

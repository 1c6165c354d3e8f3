"""Signs of life for the service manager, as sd_notify(3) describes them."""

import socket
import sys

import pytest

from lumenmap.core.service import ServiceManager


@pytest.mark.skipif(sys.platform != "linux", reason="systemd is a service manager of Linux")
@pytest.mark.parametrize("abstract", [False, True], ids=["file", "abstract"])
def test_the_manager_hears_that_it_is_ready_and_alive(tmp_path, monkeypatch, abstract):
    name = f"@{tmp_path.name}-{tmp_path.parent.name}" if abstract else str(tmp_path / "s")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind("\0" + name[1:] if abstract else name)
        heard.setblocking(False)
        monkeypatch.setenv("NOTIFY_SOCKET", name)
        manager = ServiceManager()
        manager.ready()
        for _ in range(1000):
            manager.alive()
        assert heard.recv(99) == b"READY=1"
        assert heard.recv(99) == b"WATCHDOG=1"
        with pytest.raises(BlockingIOError):  # so seldom that it costs nothing
            heard.recv(99)


def test_without_a_manager_nothing_happens(tmp_path, monkeypatch):
    for name in ("", str(tmp_path / "gone"), "relative"):
        monkeypatch.setenv("NOTIFY_SOCKET", name)
        ServiceManager().ready()
        ServiceManager().alive()

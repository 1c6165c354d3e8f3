"""Only regular files are read, and no more of one than it may have."""

import os
import sys
import threading
from pathlib import Path

import pytest

from lumenmap.core.errors import InputError
from lumenmap.core.regular import open_regular, read_regular
from lumenmap.core.toml.reading import load_toml

needs_fifo = pytest.mark.skipif(
    not hasattr(os, "mkfifo"), reason="this system has no pipes with names"
)
needs_devices = pytest.mark.skipif(sys.platform == "win32", reason="no /dev on this system")


def within(seconds, function):
    """Run it in a thread that is given up if it hangs; return what it raised."""
    got = []

    def run():
        try:
            function()
        except BaseException as error:
            got.append(error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(seconds)
    assert not thread.is_alive(), "it hangs"
    return got[0] if got else None


@pytest.fixture
def fifo(tmp_path):
    path = tmp_path / "house.toml"
    os.mkfifo(path)
    return path


@needs_fifo
def test_a_pipe_is_refused_and_not_waited_for(fifo):
    error = within(10, lambda: load_toml(fifo, "house"))
    assert str(error) == "house.toml: is a named pipe; expected a file"


@needs_fifo
def test_a_link_to_a_pipe_is_the_pipe(fifo, tmp_path):
    link = tmp_path / "link.toml"
    link.symlink_to(fifo)
    assert "is a named pipe" in str(within(10, lambda: read_regular(link, 10)))


@needs_devices
@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null", "/dev/tty"])
def test_a_device_is_not_even_opened(device, monkeypatch):
    opened = []
    monkeypatch.setattr(os, "open", lambda *a, **k: opened.append(a))
    with pytest.raises(InputError, match="is a device; expected a file"):
        open_regular(device)
    assert not opened


@needs_fifo
def test_a_pipe_that_takes_the_files_place_in_between_is_found(tmp_path, monkeypatch):
    path, real = tmp_path / "a", os.open
    path.write_text("x")

    def swapped(target, flags, *rest):
        path.unlink()
        os.mkfifo(path)
        return real(target, flags, *rest)

    monkeypatch.setattr(os, "open", swapped)
    assert "is a named pipe" in str(within(10, lambda: read_regular(path, 10)))


def test_a_folder_says_so_as_open_does(tmp_path):
    with pytest.raises(IsADirectoryError):
        open_regular(tmp_path)


def test_no_more_is_read_than_allowed(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"x" * 1001)
    assert read_regular(path, 1001) == b"x" * 1001
    with pytest.raises(InputError, match=r"a: is over 1 kB; expected something small"):
        read_regular(path, 1000, "something small")


@needs_devices
@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="no /proc on this system")
def test_a_file_that_says_it_is_empty_is_held_to_what_it_gives():
    assert Path("/proc/self/maps").stat().st_size == 0
    with pytest.raises(InputError, match="is over"):
        read_regular("/proc/self/maps", 10)


def test_a_name_that_no_file_can_have():
    with pytest.raises(InputError, match="isn't a path: embedded null"):
        open_regular("a\0b")

"""A real broker, mosquitto from Debian, on a loopback port of its own."""

import os
import shutil
import socket
import subprocess
import time
from pathlib import Path

import pytest

MOSQUITTO = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")


class Server:
    """A broker that can be stopped and started again on the same port."""

    def __init__(self, folder: Path, password: str) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self._file, self._log = folder / "mosquitto.conf", (folder / "mosquitto.log").open("wb")
        lines = [f"listener {self.port} 127.0.0.1", "persistence false"]
        if os.geteuid() == 0:
            lines.append("user root")
        if password:
            passwords = folder / "passwords"
            subprocess.run(
                ["mosquitto_passwd", "-b", "-c", passwords, "roof", password],
                check=True,
                capture_output=True,
            )
            lines += ["allow_anonymous false", f"password_file {passwords}"]
        else:
            lines.append("allow_anonymous true")
        self._file.write_text("\n".join(lines) + "\n")
        self._process = None

    def start(self) -> None:
        self._process = subprocess.Popen(
            [MOSQUITTO, "-c", self._file], stdout=self._log, stderr=self._log
        )
        for _ in range(200):
            try:
                socket.create_connection(("127.0.0.1", self.port), 0.2).close()
                return
            except OSError:
                time.sleep(0.05)
        raise AssertionError("mosquitto doesn't listen")

    def stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def close(self) -> None:
        self.stop()
        self._log.close()


@pytest.fixture
def server(tmp_path, request):
    """A broker, started; with `indirect` parameters, one that asks for this password."""
    if MOSQUITTO is None:
        pytest.skip("mosquitto is not installed")
    made = Server(tmp_path, getattr(request, "param", ""))
    made.start()
    yield made
    made.close()

"""How the desk ends, and its certificate."""

import asyncio
import json
import shutil
import signal
import ssl
import subprocess
import sys
import time
import tomllib
import urllib.request

import pytest
from websockets.asyncio.client import connect as asyncio_connect
from websockets.sync.client import connect

OPENSSL = shutil.which("openssl")


def started(folder, *words):
    command = [sys.executable, "-m", "lumenmap", "desk", str(folder), "--no-browser", "--port", "0"]
    process = subprocess.Popen(
        [*command, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    line = process.stdout.readline()
    assert "/open?token=" in line, process.stderr.read()
    return process, line.split(" ", 1)[1].strip()


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


def cookie_of(address, context=None):
    handlers = [NoRedirect]
    if context:
        handlers.append(urllib.request.HTTPSHandler(context=context))
    try:
        urllib.request.build_opener(*handlers).open(address, timeout=20)
    except urllib.error.HTTPError as answer:
        return answer.headers["set-cookie"]
    raise AssertionError("no redirect")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_it_in_order(house, number):
    """What was changed is on disk, and it is no failure to be ended."""
    process, address = started(house)
    cookie = cookie_of(address).split(";")[0]
    host = address.split("/")[2]
    with connect(
        f"ws://{host}/socket",
        origin=f"http://{host}",
        additional_headers={"Cookie": cookie},
        compression=None,
        close_timeout=0.5,  # what the test left unread is in the way of a goodbye
    ) as socket:
        edit = {"op": "set", "path": ["show", "fps"], "old": 30, "new": 25}
        socket.send(json.dumps({"type": "open", "file": "show.toml"}))
        words = {"type": "edit", "id": 1, "file": "show.toml", "version": 1, "edits": [edit]}
        socket.send(json.dumps(words))
        while '"accepted"' not in str(socket.recv(timeout=20)):
            pass
        begun = time.monotonic()
        process.send_signal(number)
        _, err = process.communicate(timeout=20)
    assert process.returncode == 0 and not err, (process.returncode, err)
    assert time.monotonic() - begun < 15
    assert tomllib.loads((house / "show.toml").read_text("utf-8"))["show"]["fps"] == 25


def test_killed_it_leaves_whole_files_and_starts_again(house):
    process, address = started(house)
    cookie = cookie_of(address).split(";")[0]
    host = address.split("/")[2]
    with connect(
        f"ws://{host}/socket",
        origin=f"http://{host}",
        additional_headers={"Cookie": cookie},
        compression=None,
        close_timeout=0.5,  # what the test left unread is in the way of a goodbye
    ) as socket:
        socket.send(json.dumps({"type": "open", "file": "show.toml"}))
        for i in range(20):
            edit = {"op": "set", "path": ["show", "seed"], "old": i + 1, "new": i + 2}
            words = {"type": "edit", "id": i, "file": "show.toml", "version": 1, "edits": [edit]}
            socket.send(json.dumps(words))
        while '"accepted"' not in str(socket.recv(timeout=20)):
            pass
        process.kill()
        process.communicate()
    seed = tomllib.loads((house / "show.toml").read_text("utf-8"))["show"]["seed"]
    assert 1 <= seed <= 21
    again, address = started(house)
    cookie_of(address)
    again.terminate()
    again.communicate(timeout=20)


async def first_message(host, trusted, cookie):
    """What a desk says first, over TLS, by the client that has no threads.

    Two threads mustn't use a connection of OpenSSL's at once (openssl-threads(7)); the other client
    does, and lost an answer once.
    """
    async with asyncio_connect(
        f"wss://{host}/socket",
        ssl=trusted,
        origin=f"https://{host}",
        additional_headers={"Cookie": cookie.split(";")[0]},
        compression=None,
    ) as socket:
        return await asyncio.wait_for(socket.recv(), 20)


@pytest.mark.skipif(OPENSSL is None, reason="openssl isn't installed")
def test_a_certificate_of_ones_own(house, tmp_path):
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(
        f"{OPENSSL} req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=127.0.0.1 "
        f"-addext subjectAltName=IP:127.0.0.1 -keyout {key} -out {cert}".split(),
        check=True,
        capture_output=True,
    )
    process, address = started(house, "--certificate", str(cert), "--key", str(key))
    try:
        assert address.startswith("https://127.0.0.1:")
        trusted = ssl.create_default_context(cafile=str(cert))
        cookie = cookie_of(address, trusted)
        assert "secure" in cookie.lower()
        first = asyncio.run(first_message(address.split("/")[2], trusted, cookie))
        assert json.loads(first)["type"] == "session"
    finally:
        process.terminate()
        process.communicate(timeout=20)


def test_a_certificate_that_is_none(house, lumenmap, tmp_path):
    text = tmp_path / "cert.pem"
    text.write_text("no certificate")
    for file, why in (
        (text, "not a certificate"),
        (tmp_path / "none.pem", "No such file or directory"),
    ):
        done = lumenmap("desk", house, "--no-browser", "--certificate", file)
        done.fails(2, rf"can't be used: {why}; expected a certificate as PEM")
    lumenmap("desk", house, "--no-browser", "--key", text).fails(2, "goes with --certificate")

"""Too much at once: large messages, many of them, slow readers, two hundred sockets."""

import json
import socket
import struct
import time

import pytest
from websockets.exceptions import ConnectionClosed

from lumenmap.desk.client import Bucket
from tests.desk.conftest import Page, running


def test_a_message_of_65_kb_closes_the_socket_and_nothing_else(shared_desk):
    other = shared_desk.page()
    page = shared_desk.page()
    page.socket.send('{"type": "open", "file": "' + "a" * (65 << 10) + '"}')
    with pytest.raises(ConnectionClosed) as caught:
        while True:
            page.socket.recv(timeout=5)
    assert caught.value.rcvd.code == 1009  # RFC 6455, 7.4.1: too big
    assert other.ask("undo", file="show.toml")["type"] == "refused"


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", "null", "\0", '{"type":"open"}', "[" * 60000, b"\x00\x01"]
)
def test_messages_that_make_no_sense_are_refused_in_a_sentence(shared_desk, text):
    page = shared_desk.page()
    page.socket.send(text)
    answer = page.until(lambda m: m["type"] == "refused")
    assert answer["id"] is None and "isn't one of the desk's" in answer["sentence"]
    assert page.ask("undo", file="show.toml")["type"] == "refused"


def test_a_hundred_edits_a_second_are_too_many(desk):
    """Asked as quickly as a page can, by changes that take no time here."""
    page = desk.page()
    page.open()
    for i in range(150):
        page.send("light", id=i, on=False)
    answers = [page.until(lambda m: m["type"] in ("accepted", "refused"), 30) for _ in range(150)]
    slowed = [a for a in answers if "more than 60 changes a second" in a.get("sentence", "")]
    assert len(slowed) > 50, len(slowed)
    assert len(slowed) <= 150 - 60
    time.sleep(1.1)
    assert page.edit(["show", "seed"], 1, 5)["type"] == "accepted"


def test_a_bucket_lets_so_many_through_a_second():
    now = [0.0]
    bucket = Bucket(60, lambda: now[0])
    assert sum(bucket.take() for _ in range(200)) == 60
    now[0] = 0.5
    assert sum(bucket.take() for _ in range(200)) == 30
    now[0] = 100.0
    assert sum(bucket.take() for _ in range(200)) == 60


def test_a_flood_of_messages_closes_its_socket(desk):
    other, page = desk.page(), desk.page()
    with pytest.raises(ConnectionClosed) as caught:
        for _ in range(3000):
            page.send("look", file="show.toml", frame=0, playing=False)
        while True:
            page.socket.recv(timeout=10)
    assert caught.value.rcvd.code == 1008
    assert other.open()["type"] == "show"


def seed(page, old, new):
    """Change the show's seed, and wait until the page has heard of it and seen its light."""
    done = page.edit(["show", "seed"], old, new)
    assert done["type"] == "accepted"
    page.lit(done["version"])
    if page.told["show"]["version"] < done["version"]:
        page.until(lambda m: m["type"] == "show" and m["version"] >= done["version"])


def test_a_slow_reader_costs_nobody_else_anything(house):
    """Little is kept for it, and the others are served as before.

    It is written straight on a socket, so that nothing is read behind the scenes.
    """
    with running(house) as desk:
        quick = desk.page()
        quick.open()
        raw = raw_socket(desk)
        send_text(raw, json.dumps({"type": "open", "file": "show.toml"}))
        for i in range(40):
            seed(quick, i + 1, i + 2)
            time.sleep(0.02)
        from lumenmap.desk.client import ROOM

        sizes = [c._bytes for c in desk.desk.hub.clients]
        told = [len(c._told) for c in desk.desk.hub.clients]
        assert max(sizes) < ROOM + (1 << 20) and max(told) < 20, (sizes, told)
        raw.close()


def raw_socket(desk):
    """A socket after its handshake (RFC 6455, 4.1), of which nothing is read."""
    host, port = desk.host.split(":")
    raw = socket.socket()
    raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    raw.connect((host, int(port)))
    raw.sendall(
        (
            f"GET /socket HTTP/1.1\r\nHost: {desk.host}\r\nOrigin: {desk.origin}\r\n"
            f"Cookie: {desk.let_in()}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n\r\n"
        ).encode()
    )
    head = b""
    while b"\r\n\r\n" not in head:
        head += raw.recv(1)
    assert b" 101 " in head
    return raw


def send_text(raw, text):
    data = text.encode()
    head = (
        struct.pack("!BB", 0x81, 0x80 | len(data))
        if len(data) < 126
        else struct.pack("!BBH", 0x81, 0xFE, len(data))
    )
    raw.sendall(head + b"\0\0\0\0" + data)  # masked with zeros


def test_two_hundred_sockets(desk):
    """Sixty-four are let in; the others are told, and those who are in go on as before."""
    first = desk.page()
    first.open()
    cookie = desk.let_in()
    told = []
    for _ in range(200):
        page = Page(desk.connect(cookie))
        told.append(page)
    turned = 0
    for page in told:
        try:
            message = page.read(20)
            turned += message["type"] == "farewell" and "can't take another" in message["sentence"]
        except ConnectionClosed:
            turned += 1
    assert turned == 200 - 63
    assert first.edit(["show", "seed"], 1, 2)["type"] == "accepted"
    first.lit(2)
    for page in told:
        page.socket.close()
    end = time.monotonic() + 20
    while len(desk.desk.hub.clients) > 1 and time.monotonic() < end:
        time.sleep(0.05)
    desk.page()

"""Each rule of who may do what, attacked."""

import json
import re
import socket
import struct
import time

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus

from lumenmap.core.errors import InputError
from lumenmap.desk import listen
from lumenmap.desk.client import Bucket
from lumenmap.desk.listen import home_addresses
from lumenmap.desk.pairing import Pairing, RefusedError, forget
from lumenmap.desk.qr import qr_rows, qr_text
from lumenmap.starter.start import start
from tests.desk.conftest import ALMANAC, Page, running


def refused(desk, status, **words):
    with pytest.raises((InvalidStatus, ConnectionClosed)) as caught:
        page = Page(desk.connect(**words))
        page.read(5)
    error = caught.value
    got = error.response.status_code if isinstance(error, InvalidStatus) else error.rcvd.code
    assert got == status, error


# -- who asks -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "https://{host}",
        "http://127.0.0.1",
        "http://{host}.evil.example",
    ],
)
def test_a_page_of_another_site_gets_no_socket(shared_desk, origin):
    refused(shared_desk, 403, origin=origin.format(host=shared_desk.host))


def test_a_socket_needs_an_origin(shared_desk):
    from websockets.sync.client import connect

    with pytest.raises(InvalidStatus, match="403"):
        connect(
            f"ws://{shared_desk.host}/socket",
            additional_headers={"Cookie": shared_desk.let_in()},
            compression=None,
        )


@pytest.mark.parametrize("path", ["/", "/page/index.html", "/picture/x", "/open?token=x"])
@pytest.mark.parametrize("host", ["evil.example", "evil.example:{port}", "127.0.0.1:1", "", None])
def test_a_name_that_isnt_served_gets_nothing(shared_desk, path, host):
    """DNS rebinding: a name of another site that leads to this machine."""
    port = shared_desk.host.split(":")[1]
    host = host and host.format(port=port)
    got = shared_desk.http("GET", path, cookie=shared_desk.let_in(), Host=host)
    # The web server itself refuses a request without any host.
    assert got.status in (400, 421) and b"<html" not in got.body


def test_two_hosts_are_none(shared_desk):
    with socket.create_connection(shared_desk.host.split(":"), 5) as link:
        link.sendall(
            f"GET / HTTP/1.1\r\nHost: {shared_desk.host}\r\nHost: evil.example\r\n\r\n".encode()
        )
        assert link.recv(200).split()[1] in (b"400", b"421")


def test_a_socket_under_another_name_is_refused(shared_desk):
    from websockets.sync.client import connect

    host, port = shared_desk.host.split(":")
    raw = socket.create_connection((host, int(port)))
    with pytest.raises(InvalidStatus, match="403"):
        connect(
            "ws://evil.example/socket",
            sock=raw,
            origin="http://evil.example",
            additional_headers={"Cookie": shared_desk.let_in()},
        )
    raw.close()


@pytest.mark.parametrize(
    "cookie", ["", "lumenmap-desk-1=x", "{name}=", "{name}=AAAA", "{name}=" + "A" * 5000]
)
def test_without_the_cookie_there_is_only_the_page_that_asks_for_a_code(shared_desk, cookie):
    name = shared_desk.let_in().split("=")[0]
    cookie = cookie.format(name=name)
    got = shared_desk.http("GET", "/", cookie=cookie)
    assert got.status == 401 and "six digits" in got.text
    assert shared_desk.http("GET", "/picture/x", cookie=cookie).status == 401
    refused(shared_desk, 403, cookie=cookie)


def test_two_cookies_are_none(shared_desk):
    name, value = shared_desk.let_in().split("=")
    both = f"{name}=AAAA; {name}={value}"
    assert shared_desk.http("GET", "/", cookie=both).status in (200, 401)
    link = f"{name}={value}"
    assert shared_desk.http("GET", "/", cookie=link).status == 200


def test_the_cookie_is_not_for_scripts_or_other_sites(house):
    with running(house) as desk:
        path = desk.address.split(desk.host)[1]
        first = desk.http("GET", path)
        words = {w.strip().lower() for w in first.headers["set-cookie"].split(";")[1:]}
        assert {"httponly", "samesite=strict", "path=/"} <= words
        # The address works once.
        again = desk.http("GET", path)
        assert again.status == 403 and "has been used" in again.text
        assert "set-cookie" not in again.headers


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": None}, 403),
        ({"Content_Type": "text/plain"}, 415),
        ({"Content_Type": "application/x-www-form-urlencoded"}, 415),
        ({"Content_Type": None}, 415),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
    ],
)
def test_a_form_of_another_site_pairs_nobody(shared_desk, headers, status):
    got = shared_desk.http("POST", "/pair", b'{"code": "123456"}', **headers)
    assert got.status == status
    assert "set-cookie" not in got.headers


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"code": 5}', b"[" * 900, b'{"code": null}'])
def test_a_strange_body_pairs_nobody(shared_desk, body):
    assert shared_desk.http("POST", "/pair", body).status == 403


def test_a_large_body_isnt_read(shared_desk):
    assert shared_desk.http("POST", "/pair", b" " * 2000).status == 413
    assert shared_desk.http("POST", "/pair", b" ", Content_Length="99999999").status == 413


# -- photographs ----------------------------------------------------------------------------


def photo(kind="PNG", size=(60, 40), colours=((255, 30, 30), (30, 60, 255))):
    """A picture of stripes (invented)."""
    import io

    from PIL import Image

    image = Image.new("RGB", size)
    for i, colour in enumerate(colours):
        wide = size[0] // len(colours)
        image.paste(colour, (i * wide, 0, (i + 1) * wide, size[1]))
    made = io.BytesIO()
    image.save(made, kind)
    return made.getvalue()


def sent(desk, body, kind="image/png", **words):
    words.setdefault("cookie", desk.let_in())
    return desk.http("POST", words.pop("path", "/photo"), body, Content_Type=kind, **words)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WebP"])
def test_a_photo_gives_its_colours_and_isnt_kept(shared_desk, kind):
    before = sorted(shared_desk.folder.rglob("*"))
    got = sent(shared_desk, photo(kind), f"image/{kind.lower()}")
    assert got.status == 200 and got.headers["content-type"].startswith("application/json")
    colours = json.loads(got.body)["colours"]
    assert len(colours) == 2 and all(re.fullmatch("#[0-9a-f]{6}", c) for c in colours)
    assert colours[0][1:3] > colours[0][5:7] and colours[1][1:3] < colours[1][5:7]  # red, blue
    assert sorted(shared_desk.folder.rglob("*")) == before
    assert got.headers["cache-control"] == "no-store"


def test_a_photo_is_known_by_its_content(shared_desk):
    assert sent(shared_desk, photo("JPEG"), "image/png").status == 200
    for body in (b"", b"MZ" + bytes(5000), b"<svg onload=alert(1)>", photo()[:60], photo("TIFF")):
        got = sent(shared_desk, body)
        assert got.status == 422, body[:10]
        assert got.text.startswith("The photo isn't a readable picture; expected PNG, JPEG")
    assert sent(shared_desk, photo(colours=((0, 0, 0),))).text.startswith("The photo is black")


@pytest.mark.parametrize(
    ("words", "status"),
    [
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": None}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"cookie": None}, 401),
        ({"kind": "text/plain"}, 415),
        ({"kind": "multipart/form-data; boundary=x"}, 415),
        ({"kind": "application/json"}, 415),
        ({"kind": "image/svg+xml"}, 415),
        ({"Content_Length": str((16 << 20) + 1)}, 413),
        ({"Content_Length": None}, 413),
        ({"Host": "evil.example"}, 421),
    ],
)
def test_a_photo_of_another_page_isnt_read(shared_desk, words, status):
    kind = words.pop("kind", "image/png")
    assert sent(shared_desk, photo(), kind, **words).status == status


def test_other_paths_take_no_photo(shared_desk):
    assert sent(shared_desk, photo(), path="/pair").status == 415
    assert shared_desk.http("GET", "/photo", cookie=shared_desk.let_in()).status == 405


def test_a_device_of_the_evening_sends_no_photo(shared_desk):
    token, _ = shared_desk.desk.pairing.invite("evening")
    got = shared_desk.http("GET", f"/open?token={token}")
    cookie = got.headers["set-cookie"].split(";")[0]
    assert sent(shared_desk, photo(), cookie=cookie).status == 403


def test_a_picture_that_would_fill_the_memory_is_refused_unread(shared_desk):
    """A PNG of a few hundred bytes that says it is 8,000 pixels wide (invented)."""
    import zlib

    head = struct.pack(">IIBBBBB", 8_000, 8_000, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), (b"IDAT", zlib.compress(bytes(99))), (b"IEND", b"")]
    body = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )
    got = sent(shared_desk, body)
    assert got.status == 422 and "too large" in got.text and "8000" in got.text


def test_many_photos_at_once_wait_or_are_asked_to_come_again(house):
    with running(house) as desk:
        desk.let_in()
        found = [sent(desk, photo()).status for _ in range(25)]
        assert found[:20] == [200] * 20 and found[-1] == 429
        assert desk.http("GET", "/", cookie=desk.let_in()).status == 200


def test_every_answer_has_the_policy(shared_desk):
    cookie = shared_desk.let_in()
    for path, own in (("/", cookie), ("/", None), ("/page/pair.js", None), ("/nothing", cookie)):
        got = shared_desk.http("GET", path, cookie=own)
        policy = got.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy, path
        assert "frame-ancestors 'none'" in policy and "connect-src 'self'" in policy
        assert got.headers["x-content-type-options"] == "nosniff"
        assert got.headers["referrer-policy"] == "no-referrer"
        assert not any(name.startswith("access-control") for name in got.headers)
        assert "server" not in got.headers


# -- codes ----------------------------------------------------------------------------------


class Now:
    def __init__(self):
        self.seconds = 1_000_000.0

    def __call__(self):
        return self.seconds


@pytest.fixture
def pairing(tmp_path):
    now = Now()
    made = Pairing(tmp_path / "devices.json", now)
    made.now = now
    return made


def test_a_code_pairs_one_device_once(pairing):
    _, code = pairing.invite("evening")
    device = pairing.device(pairing.by_code(f" {code} "))
    assert device.rights == "evening" and not device.local
    with pytest.raises(RefusedError, match="isn't the code"):
        pairing.by_code(code)


def test_a_token_pairs_one_device_once_within_ten_minutes(pairing):
    token, _ = pairing.invite("compose")
    assert pairing.device(pairing.by_token(token)).rights == "compose"
    token, code = pairing.invite("compose")
    pairing.now.seconds += 601
    with pytest.raises(RefusedError, match="older than ten minutes"):
        pairing.by_token(token)
    with pytest.raises(RefusedError, match="isn't the code"):
        pairing.by_code(code)


def test_codes_are_guessed_five_times_a_minute_and_twenty_times_in_all(pairing):
    """Twenty guesses at a million codes, then there is none to guess."""
    _, code = pairing.invite("evening")
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    for i in range(20):
        if i % 5 == 0 and i:
            with pytest.raises(RefusedError, match="Five codes were tried within a minute"):
                pairing.by_code(code)
            pairing.now.seconds += 61
        with pytest.raises(RefusedError, match="isn't the code"):
            pairing.by_code(wrong)
    pairing.now.seconds += 61
    with pytest.raises(RefusedError, match="isn't the code"):
        pairing.by_code(code)


def test_only_hashes_are_kept_and_they_can_be_dropped(pairing, tmp_path):
    token, code = pairing.invite("compose")
    cookie = pairing.by_token(token)
    text = (tmp_path / "devices.json").read_text()
    assert cookie not in text and token not in text and code not in text
    later = Pairing(tmp_path / "devices.json", pairing.now)
    assert later.device(cookie).rights == "compose"
    assert forget(tmp_path / "devices.json")
    assert Pairing(tmp_path / "devices.json", pairing.now).device(cookie) is None
    assert not forget(tmp_path / "devices.json")


def test_a_device_is_forgotten_after_a_year(pairing):
    cookie = pairing.by_token(pairing.invite("compose")[0])
    pairing.now.seconds += 367 * 86400
    assert pairing.device(cookie) is None


@pytest.mark.parametrize(
    "text",
    ["", "[", "[1]", '[{"token": 5}]', '[{"token":"a","rights":"all","since":1,"local":true}]'],
)
def test_a_spoilt_list_of_devices_lets_nobody_in(tmp_path, text):
    (tmp_path / "d.json").write_text(text)
    assert Pairing(tmp_path / "d.json").device("a") is None


def test_guessing_over_the_network_is_slowed_for_all(house):
    with running(house, lan=1, addresses=("127.0.0.2",)) as desk:
        tried = [desk.http("POST", "/pair", b'{"code": "000000"}') for _ in range(7)]
        assert [t.status for t in tried] == [403] * 7
        assert "Wait a minute" in tried[-1].text and "isn't the code" in tried[0].text


def test_a_phone_is_paired_by_the_code_that_is_printed_and_may_do_so_much(house):
    with running(house, lan=1, addresses=("127.0.0.2",)) as desk:
        line = next(s for s in desk.said if "    code " in s)
        code = line.rsplit(" ", 1)[1]
        got = desk.http("POST", "/pair", json.dumps({"code": code}).encode())
        assert got.status == 204
        page = desk.page(got.headers["set-cookie"].split(";")[0])
        assert page.told["session"]["rights"] == "evening"
        page.open()
        for type, words in (
            (
                "edit",
                {
                    "file": "show.toml",
                    "version": 1,
                    "edits": [{"op": "remove", "path": ["cue", 0], "old": None}],
                },
            ),
            ("undo", {"file": "show.toml"}),
            ("restore", {"file": "show.toml"}),
            ("new_show", {"title": "x"}),
            ("light", {"on": True}),
            ("invite", {"rights": "compose"}),
            ("check_palette", {"stops": ["red"]}),
        ):
            answer = page.ask(type, **words)
            assert answer["type"] == "refused", type
            assert "the evening only" in answer["sentence"], type
        assert page.ask("dark", dark=True)["type"] == "accepted"
        # One who composes may invite another, and the code is good once.
        maker = desk.page()
        made = maker.ask("invite", rights="compose")
        assert made["address"].startswith("http://127.0.0.2:") and len(made["qr"]) > 20
        body = json.dumps({"code": made["code"]}).encode()
        assert desk.http("POST", "/pair", body).status == 204
        assert desk.http("POST", "/pair", body).status == 403


def test_a_desk_for_this_machine_alone_invites_nobody(desk):
    answer = desk.page().ask("invite", rights="evening")
    assert answer["type"] == "refused" and "start it with --lan" in answer["sentence"]
    assert all(name[0].startswith("127.") for name in [s.getsockname() for s in ()])


def test_it_listens_on_this_machine_alone(desk):
    port = int(desk.host.split(":")[1])
    with socket.socket() as other:
        other.settimeout(2)
        # 127.0.0.2 is this machine too, but not the address that is listened on.
        assert other.connect_ex(("127.0.0.2", port)) != 0


def addresses(*found):
    from types import SimpleNamespace

    return lambda: {
        f"eth{i}": [SimpleNamespace(family=socket.AF_INET, address=a)] for i, a in enumerate(found)
    }


def test_on_an_address_that_isnt_a_homes_it_stops_unless_told_twice(monkeypatch):
    monkeypatch.setattr(listen.psutil, "net_if_addrs", addresses("127.0.0.1", "8.8.8.8"))
    with pytest.raises(
        InputError, match=r"8\.8\.8\.8, which isn't one of a home network.*--lan twice"
    ):
        home_addresses(False)
    assert home_addresses(True) == ["8.8.8.8"]
    monkeypatch.setattr(listen.psutil, "net_if_addrs", addresses("192.168.1.7", "10.0.0.3"))
    assert set(home_addresses(False)) == {"192.168.1.7", "10.0.0.3"}
    monkeypatch.setattr(listen.psutil, "net_if_addrs", addresses("127.0.0.1"))
    with pytest.raises(InputError, match="is on no network"):
        home_addresses(True)


# -- what is asked --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tempting(tmp_path_factory):
    """A desk whose folder leads elsewhere: by a link, and into a folder of its own."""
    folder = tmp_path_factory.mktemp("tempting") / "house"
    start(folder, metric=True)
    text = (folder / "show.toml").read_text("utf-8")
    outside = tmp_path_factory.mktemp("outside") / "secret.toml"
    outside.write_text(text)
    (folder / "link.toml").symlink_to(outside)
    (folder / "sub").mkdir()
    (folder / "sub" / "show.toml").write_text(text)
    with running(folder) as desk:
        yield desk


@pytest.mark.parametrize(
    "name",
    [
        "../show.toml",
        "/etc/passwd",
        "..",
        ".",
        "",
        "house.toml",
        "show.toml/",
        "sub/show.toml",
        "show.toml\0",
        "SHOW.TOML",
        "\ud800",
        "link.toml",
        "C:\\show.toml",
        "%2e%2e/show.toml",
    ],
)
def test_nothing_outside_the_folder_is_read_or_written(tempting, name):
    page = tempting.page()
    assert "link.toml" not in [s["file"] for s in page.told["shows"]["shows"]]
    page.send("open", file=name)
    answer = page.until(lambda m: m["type"] in ("refused", "show"))
    assert answer["type"] == "refused"
    if name == "\ud800":  # not text at all: refused before anybody looks for its number
        return
    edits = [{"op": "set", "path": ["show", "name"], "old": None, "new": "x"}]
    answer = page.ask("edit", file=name or "x", version=1, edits=edits)
    assert answer["type"] == "refused"
    assert page.ask("choose", file=name or "x")["type"] == "refused"
    assert page.ask("new_show", title="y", copy_of=name or "x")["type"] == "refused"


@pytest.mark.parametrize(
    "path",
    [
        "/page/../server.py",
        "/page/..%2fserver.py",
        "/page/%2e%2e/server.py",
        "/page/wire.d.ts",
        "/page//etc/passwd",
        "/server.py",
        "/page/",
        "/page/index.html%00.js",
        "/picture/../pair",
    ],
)
def test_only_the_pages_own_files_are_served(shared_desk, path):
    got = shared_desk.http("GET", path, cookie=shared_desk.let_in())
    assert got.status in (404, 405), got.body[:80]


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


def test_names_with_markup_reach_the_page_as_text(house):
    """The page gets JSON, whose strings it puts into text nodes; nothing of it is HTML here."""
    nasty = '<img src=x onerror=alert(1)></script><b>&amp;"'
    text = (house / "show.toml").read_text("utf-8")
    text = text.replace('"First Try"', json.dumps(nasty)).replace('"running"', json.dumps(nasty))
    (house / "show.toml").write_text(text, "utf-8")
    # A house's names are words.
    text = (house / "house.toml").read_text("utf-8").replace('"My House"', "\"O'Hara's\"")
    (house / "house.toml").write_text(text, "utf-8")
    (house / "almanac.toml").write_text(
        ALMANAC.replace('"Every evening"', json.dumps(nasty)), "utf-8"
    )
    bad = house / "<b>bad.toml"
    bad.write_text("[show", "utf-8")
    with running(house) as desk:
        page = desk.page()
        show = page.open()
        assert page.told["session"]["house"]["name"] == "O'Hara's"
        assert show["title"] == show["cues"][0]["name"] == nasty
        assert page.told["evening"]["tonight"]["pieces"][0]["rule"] == nasty
        assert any("<b>bad" in p["file"] for p in page.told["problems"]["problems"])
        answer = page.edit(["show", "name"], nasty, "a\x1b[31m\u202eb")
        assert answer["type"] == "refused" and "\x1b" not in answer["sentence"]
        for path in ("/", "/page/index.html", "/page/pair.html", "/nothing/<b>"):
            got = desk.http("GET", path.replace("<b>", "%3Cb%3E"), cookie=desk.cookie)
            assert nasty not in got.text and "<b>" not in got.text
            kind = got.headers["content-type"]
            assert got.status == 200 or kind.startswith("text/plain")
        data = desk.http("GET", page.told["session"]["house"]["picture"], cookie=desk.cookie)
        assert data.headers["content-type"] == "application/json"


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
    first.light(lambda s: s.version > 1)
    for page in told:
        page.socket.close()
    end = time.monotonic() + 20
    while len(desk.desk.hub.clients) > 1 and time.monotonic() < end:
        time.sleep(0.05)
    desk.page()


def test_a_qr_code_says_the_address():
    """Read back by an independent decoder."""
    import cv2
    import numpy as np

    text = "http://192.168.1.20:8240/open?token=abcDEF_-123"
    rows = qr_rows(text)
    bits = np.array([[int(c) for c in row] for row in rows], np.uint8)
    picture = np.kron((1 - bits) * 255, np.ones((8, 8), np.uint8))
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == text
    drawn = qr_text(rows).splitlines()
    assert len(drawn) == -(-len(rows) // 2) and len(drawn[0]) == len(rows)

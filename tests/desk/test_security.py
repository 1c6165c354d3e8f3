"""Each rule of who may do what, attacked."""

import json
import socket

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus

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

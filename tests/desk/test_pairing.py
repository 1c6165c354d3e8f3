"""Codes by which a device joins a desk: guessed, spent, forgotten; and where the desk listens."""

import json
import socket

import pytest

from lumenmap.core.errors import InputError
from lumenmap.desk import listen
from lumenmap.desk.listen import home_addresses
from lumenmap.desk.pairing import Pairing, RefusedError, forget
from lumenmap.desk.qr import qr_rows, qr_text
from tests.desk.conftest import running


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
        none = {"dims": [], "quiet": None}
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
            ("remove_show", {"file": "other.toml"}),
            ("put_back", {"file": "other.toml"}),
            ("set_hours", {"hours": none, "seen": none}),
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

"""Looking for controllers from the desk: on the network that the person names, and no other."""

import threading

import pytest

from lumenmap.controller.artnet.poll import Node
from lumenmap.core.errors import InputError
from lumenmap.desk import answer, listen

FOUND = [Node("192.168.7.40", "Porch", (1, 2)), Node("192.168.7.41", "<b>Eaves</b>", ())]


@pytest.fixture(name="street")
def a_street(monkeypatch):
    """A network that answers; what was asked of it."""
    asked = []

    def find(network):
        asked.append(network)
        return FOUND if network.startswith("192.168.7") else []

    monkeypatch.setattr(answer, "find", find)
    return asked


def test_controllers_are_told_with_what_to_do(desk, street):
    got = desk.page().ask("find", network="192.168.7.0/24")
    assert got["type"] == "controllers" and street == ["192.168.7.0/24"]
    assert [(c["address"], c["name"], c["to"]) for c in got["found"]] == [
        ("192.168.7.40", "Porch", "artnet:192.168.7.40"),
        ("192.168.7.41", "<b>Eaves</b>", "artnet:192.168.7.41"),
    ]
    nobody = desk.page().ask("find", network="10.0.0.0/24")
    assert (
        nobody["found"] == [] and "No controller on 10.0.0.0/24 answered. See" in nobody["sentence"]
    )


@pytest.mark.parametrize(
    ("network", "why"),
    [
        ("8.8.8.0/24", "isn't a home network; expected a network such as 192.168.1.0/24"),
        ("10.0.0.0/8", "has 16,777,216 addresses"),
        ("the roof", "isn't a network"),
    ],
)
def test_other_networks_are_not_asked(desk, street, network, why):
    got = desk.page().ask("find", network=network)
    assert got["type"] == "refused" and why in got["sentence"] and street == []


def test_a_device_of_the_evening_asks_nobody(desk, street):
    token, _ = desk.desk.pairing.invite("evening")
    cookie = desk.http("GET", f"/open?token={token}").headers["set-cookie"].split(";")[0]
    got = desk.page(cookie).ask("find", network="192.168.7.0/24")
    assert got["type"] == "refused" and "evening only" in got["sentence"] and street == []


def test_two_dont_look_at_once(desk, monkeypatch):
    begun, go = threading.Event(), threading.Event()

    def find(network):
        begun.set()
        go.wait(10)
        return []

    monkeypatch.setattr(answer, "find", find)
    first, second = desk.page(), desk.page()
    first.open()
    first.send("find", id=900, network="192.168.7.0/24")
    assert begun.wait(10)
    assert first.edit(["show", "fps"], 30, 25, version=1)["type"] in ("accepted", "refused")
    got = second.ask("find", network="192.168.7.0/24")
    assert "controllers are being looked for already" in got["sentence"].lower()
    go.set()
    first.until(lambda m: m["type"] == "controllers")


def test_a_port_in_use_is_said(desk, monkeypatch):
    def find(network):
        raise InputError("UDP port 6454 can't be listened on: in use")

    monkeypatch.setattr(answer, "find", find)
    got = desk.page().ask("find", network="192.168.7.0/24")
    assert got["type"] == "refused" and "UDP port 6454" in got["sentence"]


def test_the_networks_of_this_machine_are_offered(monkeypatch):
    from types import SimpleNamespace as Row

    def rows():
        inet, other = listen.socket.AF_INET, listen.socket.AF_INET6
        return {
            "lo": [Row(family=inet, address="127.0.0.1", netmask="255.0.0.0")],
            "home": [
                Row(family=inet, address="192.168.7.5", netmask="255.255.255.0"),
                Row(family=other, address="fe80::1", netmask=None),
            ],
            "far": [Row(family=inet, address="8.8.4.4", netmask="255.255.255.0")],
            "gone": [Row(family=inet, address="10.1.1.1", netmask=None)],
        }

    monkeypatch.setattr(listen.psutil, "net_if_addrs", rows)
    assert listen.home_networks() == ["192.168.7.0/24"]

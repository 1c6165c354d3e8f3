"""Is anybody there? Refusals, missing hosts and moved ones, on real sockets."""

import errno
import re
import shutil
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from lumenmap.controller.e131.addresses import parse_host
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.e131.target import REFUSED, Target
from lumenmap.controller.presence import Presence
from lumenmap.core.errors import InputError


def free_port():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("127.0.0.1", 0))
        return taken.getsockname()[1]


@pytest.mark.parametrize(
    ("text", "host", "port"),
    [
        ("192.168.1.40", "192.168.1.40", 5568),
        ("192.168.1.40:6000", "192.168.1.40", 6000),
        ("roof.local", "roof.local", 5568),
        ("roof.local:1", "roof.local", 1),
        ("fd00::40", "fd00::40", 5568),
        ("[fd00::40]", "fd00::40", 5568),
        ("[fd00::40]:65535", "fd00::40", 65535),
        ("::1", "::1", 5568),
    ],
)
def test_an_address_may_have_a_port(text, host, port):
    assert parse_host(text, 5568) == (host, port)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("192.168.1.40:0", 'port "0"; expected 1 to 65535'),
        ("192.168.1.40:65536", "expected 1 to 65535"),
        ("192.168.1.40:", 'port ""'),
        ("roof:e131", 'port "e131"'),
        (":5568", "isn't an address"),
        ("[]:5568", "isn't an address"),
        ("999.1.1.1:5568", "four numbers from 0 to 255"),
        ("roof\0", "isn't an address"),
    ],
)
def test_a_wrong_port_or_host_is_told(text, match):
    with pytest.raises(InputError, match=match):
        parse_host(text, 5568)


def test_refusals_are_seen_and_end_when_somebody_listens():
    """ICMP port unreachable, RFC 792: each packet after the first is told of the one before it."""
    port, sender = free_port(), UdpSender()
    address = ("127.0.0.1", port)
    sent = [sender.send(b"x", address) for _ in range(21)]  # odd, so that one is pending
    assert sent.count(False) >= 18 and sender.lost[REFUSED] == sent.count(False)
    (target,) = sender.silent
    assert target.why == REFUSED and target.lost + target.sent == 21
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(address)
        taken.settimeout(2)
        # The refusal of the last packet comes with the next, which is sent all the same.
        for k in range(3):
            sender.send(bytes([k]), address)
        assert [taken.recv(9) for _ in range(3)] == [b"\0", b"\1", b"\2"]
    sender.close()


def test_somebody_who_was_there_for_a_while_was_not_silent(monkeypatch):
    clock = [100.0]
    monkeypatch.setattr("lumenmap.controller.e131.target.time.monotonic", lambda: clock[0])
    target = Target(("127.0.0.1", free_port()))
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(target.given)
        target.send(b"x")
        clock[0] += 7
        assert target.send(b"x") == "" and not target.silent
    for _ in range(5):
        clock[0] += 0.1
        target.send(b"x")
    assert target.why == REFUSED and not target.silent, "for seven seconds nothing came back"
    target.close()


def test_a_name_that_nobody_knows_is_looked_up_until_somebody_does(monkeypatch):
    """The light doesn't wait for it; a host that moves is followed."""
    known, said, port = {}, [], free_port()

    def getaddrinfo(host, port, **_):
        if host not in known:
            raise socket.gaierror(-2, "Name or service not known")
        return [(socket.AF_INET, socket.SOCK_DGRAM, 17, "", (known[host], port))]

    monkeypatch.setattr("lumenmap.controller.e131.addresses.socket.getaddrinfo", getaddrinfo)
    monkeypatch.setattr("lumenmap.controller.presence._LOOK_UP_ABSENT", 0.0)
    monkeypatch.setattr("lumenmap.controller.presence._LOOK_UP", 0.0)
    sender = UdpSender()
    seen = Presence(
        lambda: sender.targets.values(), said.append, lambda: datetime(2026, 11, 1, tzinfo=UTC)
    )
    roof = ("roof.example", port)
    assert not sender.send(b"x", roof) and sender.lost == {"host name not found": 1}
    seen.look()
    assert said[0].startswith(f"no sign of roof.example:{port}: ")
    assert said[0].endswith("host name not found")
    for where in ("127.0.0.1", "127.0.0.2"):
        known["roof.example"] = where
        seen.look()
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
            taken.bind((where, port))
            taken.settimeout(2)
            sender.send(b"x", roof)
            assert taken.recv(9) == b"x"
    assert "roof.example has moved to 127.0.0.2" in said
    (row,) = seen.rows()
    assert row["at"] == "127.0.0.2" and row["address"] == f"roof.example:{port}"
    assert row["sent"] == 2 and row["lost"] == 1
    seen.close()
    sender.close()


#: A street with one house: a cable to a namespace of its own, whose host comes and goes.
STREET = """
import os, subprocess, sys, time
from datetime import UTC, datetime
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.presence import Presence
def sh(text):
    subprocess.run(text, shell=True, check=True)
sh("ip link set lo up; ip link add porch type veth peer name street")
sh("ip address add 10.9.0.1/24 dev porch; ip link set porch up; ip link set street up")
sh("sysctl -qw net.ipv4.neigh.porch.base_reachable_time_ms=1000 || true")
sender, said = UdpSender(), []
seen = Presence(lambda: sender.targets.values(), said.append, lambda: datetime.now(UTC))
def send(seconds, until=""):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        sender.send(b"x", ("10.9.0.40", 5568))
        time.sleep(0.05)
        if until and until in "\\n".join(said): return True
        if int(time.monotonic() * 20) % 10 == 0: seen.look()
    return not until
assert send(12, "no sign of 10.9.0.40:5568: "), said
assert sender.lost["host unreachable"] > 0, sender.lost
assert sender.silent, "nobody ever was there"
brief = UdpSender()
for _ in range(5):
    brief.send(b"x", ("10.9.0.41", 5568))
assert not brief.silent, "not known yet"
brief.settle()
assert [t.last for t in brief.silent] == ["host unreachable"], brief.silent
brief.close()
print(said[0])
other = subprocess.Popen(["unshare", "-n", "sleep", "60"])
own = os.readlink("/proc/self/ns/net")
while os.readlink(f"/proc/{other.pid}/ns/net") == own:  # until it has a network of its own
    time.sleep(0.01)
sh(f"ip link set street netns {other.pid}")
enter = f"nsenter -t {other.pid} -n "
sh(enter + "ip address add 10.9.0.40/24 dev street")
sh(enter + "ip link set street up")
end = time.monotonic() + 30
while seen.rows()[0]["state"] != "refuses" and time.monotonic() < end:
    send(1)
print(seen.rows()[0]["state"], seen.rows()[0]["why"])
sh(enter + "ip address del 10.9.0.40/24 dev street")
end = time.monotonic() + 20
while seen.rows()[0]["state"] != "no sign" and time.monotonic() < end:
    send(1)
print(seen.rows()[0]["state"], len(said))
other.kill()
sender.close(); seen.close()
"""


def test_one_loss_is_one_pair_of_sentences(monkeypatch):
    """With how long it took, and what was lost since it was last there; a short one is one."""
    monkeypatch.setattr("lumenmap.controller.seen._QUIET", 0.0)
    said, target = [], Target(("127.0.0.1", 9))
    seen = Presence(lambda: [target], said.append, lambda: datetime.now(UTC))
    seen.look()
    target.lost, target.last = 24, "host unreachable"
    seen.look()
    assert said == ["127.0.0.1:9: 24 packets lost: host unreachable"]
    target.lost, target.why, target.since = 30, "host unreachable", time.monotonic() - 33
    seen.look()
    target.lost = 800
    seen.look()
    assert said[1:] == ["no sign of 127.0.0.1:9: host unreachable"]
    target.lost, target.why = 842, ""
    seen.look()
    seen.look()
    assert re.match(r"127.0.0.1:9 (is|may be) back after 33 s: 818 packets lost", said[2])
    assert len(said) == 3
    seen.close()


class Silent:
    """One controller, whose answers to a ping and whose clock the test has in its hand."""

    def __init__(self, monkeypatch):
        self.said, self.now, self.there = [], 1000.0, True
        self.target = Target(("127.0.0.1", 9))
        monkeypatch.setattr("lumenmap.controller.presence.time.monotonic", lambda: self.now)
        monkeypatch.setattr("lumenmap.controller.presence._neighbours", dict)
        self.presence = Presence(lambda: [self.target], self.said.append, lambda: datetime.now(UTC))
        self.presence._echo.close()
        monkeypatch.setattr(self.presence, "_echo", self)

    def ask(self, hosts):
        return hosts if self.there else set()

    def close(self):
        pass

    def look(self, seconds, there):
        self.there = there
        for _ in range(seconds // 5):
            self.now += 5
            self.presence.look()


def test_a_silent_one_is_away_since_its_last_answer(monkeypatch):
    """It is missed 20 s later, which belongs to the time that it was away."""
    one = Silent(monkeypatch)
    one.look(10, True)
    one.look(300, False)
    assert one.said == ["no sign of 127.0.0.1:9: no longer answers ping"]
    one.look(5, True)
    assert one.said[1:] == ["127.0.0.1:9 is back after 5 min 5 s"]


def test_who_is_away_in_the_end_is_told(monkeypatch):
    one = Silent(monkeypatch)
    one.look(5, True)
    one.look(60, False)
    one.target.lost = 7
    one.presence.close()
    assert one.said[1:] == ["127.0.0.1:9 is still away after 60 s: 7 packets lost"]


def test_one_that_may_be_back_is_told_once_it_answers(monkeypatch):
    one = Silent(monkeypatch)
    one.target.why, one.target.since = "host unreachable", 990.0
    one.look(10, False)
    one.target.why = ""
    one.look(20, False)
    one.look(10, True)
    assert one.said[1:] == [
        "127.0.0.1:9 may be back after 25 s; it gives no answer, so that isn't known",
        "127.0.0.1:9 is back after 45 s",
    ]
    one.presence.close()
    assert len(one.said) == 3


def test_a_neighbour_that_refused_and_is_switched_off_is_not_told_to_be_back(monkeypatch):
    """The kernel counts it as there for up to 53 s (arp(7)); afterwards that counts again."""
    one = Silent(monkeypatch)
    monkeypatch.setattr("lumenmap.controller.presence._neighbours", lambda: {"127.0.0.1": True})
    one.target.sent = 1
    one.look(70, False)
    assert one.presence.rows()[0]["why"] == "answers ARP"
    one.target.why, one.target.since = REFUSED, 1070.0
    one.look(10, False)
    one.target.why = ""
    one.look(50, False)
    one.target.why = "host unreachable"
    one.look(30, False)
    assert len(one.said) == 1 and one.said[0].startswith("127.0.0.1:9 refuses packets")
    one.target.why = ""
    one.look(70, False)
    assert one.said[1:] == ["127.0.0.1:9 is back after 95 s"]


def test_a_neighbour_that_the_kernel_has_just_lost_is_not_told_to_be_back(monkeypatch):
    """Its entry has no answer a moment before the first packet that comes back unreachable."""
    one, entries = Silent(monkeypatch), {"127.0.0.1": True}
    monkeypatch.setattr("lumenmap.controller.presence._neighbours", lambda: entries)
    one.target.sent = 1
    one.target.why, one.target.since = "host unreachable", 1000.0
    one.look(5, False)
    one.target.why = ""
    one.look(15, False)
    entries["127.0.0.1"] = False
    one.look(5, False)
    one.target.why, one.target.since = "host unreachable", one.now
    one.look(30, False)
    assert one.said == ["no sign of 127.0.0.1:9: host unreachable"]


def test_one_that_refuses_while_it_starts_is_told_by_one_pair(monkeypatch):
    """It is gone, its machine is there before what takes the packets, then it answers."""
    one = Silent(monkeypatch)
    one.look(5, True)
    one.target.why, one.target.since = "host unreachable", 1005.0
    one.look(30, False)
    one.target.why, one.target.lost = REFUSED, 1200
    one.look(40, False)
    assert one.presence.rows()[0]["state"] == "refuses", "status says it at once"
    one.target.why = ""
    one.look(10, True)
    assert one.said == [
        "no sign of 127.0.0.1:9: host unreachable",
        "127.0.0.1:9 is back after 75 s: 1,200 packets lost",
    ]


def test_one_that_goes_on_refusing_is_told_so(monkeypatch):
    one = Silent(monkeypatch)
    one.target.why, one.target.since = "host unreachable", 1000.0
    one.look(30, False)
    one.target.why = REFUSED
    one.look(300, True)
    one.target.why = ""
    one.look(5, False)
    assert one.said == [
        "no sign of 127.0.0.1:9: host unreachable",
        "127.0.0.1:9 refuses packets: nothing listens on port 9; the machine is there",
        "127.0.0.1:9 is back after 5 min 35 s",
    ]


def test_a_loss_between_two_looks_says_how_long_it_was(monkeypatch):
    """From the first sign of it to the last, by the packets themselves."""
    one = Silent(monkeypatch)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("127.0.0.1", 0))
        one.target.given = one.target.address = taken.getsockname()
        one.look(5, True)
    for _ in range(20):  # nobody listens there for 2 s
        one.target.send(b"x")
        one.now += 0.1
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(one.target.given)
        for _ in range(20):
            one.target.send(b"x")
            one.now += 0.1
        one.look(5, True)
    told = re.fullmatch(
        r"127.0.0.1:\d+: (\d+) packets lost in ([\d.]+) s: no receiver on that port", one.said[0]
    )
    assert told and len(one.said) == 1, one.said
    assert 19 <= int(told[1]) <= 36 and 1.7 <= float(told[2]) <= 2.1
    one.target.close()


def test_packets_that_the_system_has_no_room_for_say_why(monkeypatch):
    def full(_packet):
        raise BlockingIOError(errno.EAGAIN, "try again")

    one = Silent(monkeypatch)
    one.target.send(b"x")
    one.target._socket.close()
    one.target._socket = SimpleNamespace(send=full, close=lambda: None)
    one.target.send(b"x")
    one.look(5, True)
    assert one.said == ["127.0.0.1:9: 1 packet lost: send buffer full"]
    one.target.close()


def test_short_losses_are_told_once_a_minute(monkeypatch):
    one = Silent(monkeypatch)
    one.target.last = "host unreachable"
    for _ in range(30):
        one.target.lost += 4
        one.look(5, True)
    told = [f"127.0.0.1:9: {n} packets lost: host unreachable" for n in (4, 48, 48)]
    assert one.said == told


def test_missing_host_is_found_by_arp_and_seen_when_it_comes(tmp_path):
    """In a network namespace: nobody answers ARP; then a host does, which refuses the port."""
    unshare = shutil.which("unshare")
    if not (
        unshare
        and shutil.which("ip")
        and shutil.which("nsenter")
        and not subprocess.run([unshare, "-rn", "true"], capture_output=True).returncode
    ):
        pytest.skip("network namespaces can't be made here")
    got = subprocess.run(
        [unshare, "-rn", sys.executable, "-c", STREET], capture_output=True, text=True, timeout=90
    )
    assert got.returncode == 0, got.stderr + got.stdout
    first, state, gone = got.stdout.splitlines()
    assert first.startswith("no sign of 10.9.0.40:5568: "), first
    assert first.endswith(("host unreachable", "not found on the local network"))
    assert state == "refuses nothing listens on port 5568"
    assert gone == "no sign 1", "it was never there, so one sentence is enough"

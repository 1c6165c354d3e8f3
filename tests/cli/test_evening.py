"""The commands that send and that plan evenings, as a person types them."""

import json
import logging
import os
import re
import shutil
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.cli.shared.wire import log_with_time, notices_with_time
from lumenmap.core.notices import notice


@pytest.fixture(scope="module")
def cottage(examples):
    return examples / "alder-cottage"


def test_tonight_says_what_plays_and_when_the_sun_sets(cottage, lumenmap):
    words = [sys.executable, "-m", "lumenmap", "tonight", cottage / "almanac.toml"]
    got = subprocess.run([*words, "--on", "2026-12-24"], capture_output=True, text=True)
    assert got.returncode == 0
    assert got.stdout.startswith("Thursday 24 December 2026, America/Los_Angeles: sunset 16:3")
    assert "First Frost" in got.stdout and "first-frost.toml" not in got.stdout
    report = json.loads(lumenmap("tonight", cottage / "almanac.toml", "--json").out)
    assert report["timezone"] == "America/Los_Angeles"


def test_year_writes_a_picture_and_a_calendar(cottage, tmp_path, lumenmap):
    picture, calendar = tmp_path / "y.png", tmp_path / "y.ics"
    words = ["--year", "2026", "--picture", picture, "--ics", calendar]
    got = lumenmap("year", cottage / "almanac.toml", *words)
    assert got.code == 0 and "evenings in 2026" in got.out
    assert picture.read_bytes()[:4] == b"\x89PNG"
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_dry_run_prints_the_universe_table_and_sends_nothing(cottage, lumenmap):
    words = ["stream", cottage / "candles.toml", "--dry-run"]
    got = lumenmap(*words)
    assert got.code == 0
    head, *rows = got.out.splitlines()
    assert head.split() == ["universe", "line", "pixels", "slots", "to"]
    assert rows[0].split()[:2] == ["1", "front"] and "(no --to given)" in rows[0]
    report = json.loads(lumenmap(*words, "--multicast", "--json").out)
    assert report["universes"][0]["to"] == "239.255.0.1"
    sixth = lumenmap(*words, "--multicast", "--ipv6")
    assert sixth.out.splitlines()[1].split()[-1] == "ff18::8300:1"


@pytest.mark.parametrize(
    ("words", "match"),
    [
        (
            ("stream", "first-frost.toml"),
            "no address given; give --to the controller's address, or --multicast",
        ),
        (("stream", "first-frost.toml", "--to", "999.1.1.1"), "isn't an address"),
        (
            ("stream", "first-frost.toml", "--to", "127.0.0.1", "--multicast"),
            "--to and --multicast exclude each other",
        ),
        (
            ("stream", "first-frost.toml", "--to", "127.0.0.1", "--brightness", "2"),
            "--brightness: is 2; expected more than 0",
        ),
        (
            ("stream", "first-frost.toml", "--to", "127.0.0.1", "--sync", "7"),
            "--sync: synchronisation packets go to multicast only",
        ),
        (
            ("stream", "first-frost.toml", "--to", "::1", "--ipv6"),
            "--ipv6: needs --multicast",
        ),
        (
            ("run", "almanac.toml", "--multicast", "--ipv6"),
            "--interface: is missing: --ipv6 needs one of lo",
        ),
        (
            ("run", "almanac.toml", "--multicast", "--ipv6", "--interface", "127.0.0.1"),
            '--interface: is "127.0.0.1"; expected one of lo',
        ),
        (
            ("run", "almanac.toml", "--multicast", "--interface", "eth99"),
            "or an interface's IPv4 address",
        ),
        (("stream", "first-frist.toml", "--to", "127.0.0.1"), 'did you mean "first-frost.toml"'),
        (("locate", "house.toml", "wakl", "--to", "127.0.0.1"), 'did you mean "walk"'),
        (
            ("locate", "house.toml", "pixel", "-n", "9999", "--to", "127.0.0.1"),
            "--number: is 9999; line",
        ),
        (("tonight", "almanac.toml", "--on", "soon"), "isn't a date"),
        (("tonight", "house.toml"), "is a house file; this command takes an almanac file"),
        (
            ("run", "almanac.toml"),
            "no address given; give --to the controller's address, or --multicast",
        ),
        (("run", "almanac.toml", "--to", "nope nope"), "isn't an address"),
        (("export", "first-frost.toml", "-o", "{out}", "-f", "flsh"), 'did you mean "flash"'),
        (
            ("export", "first-frost.toml", "-o", "{out}", "-f", "flash", "--option", "los=2"),
            'did you mean "loss"',
        ),
    ],
)
def test_mistakes_end_in_a_line_and_exit_code_2(cottage, tmp_path, lumenmap, words, match):
    command, file, *rest = (w.replace("{out}", str(tmp_path / "out")) for w in words)
    got = lumenmap(command, cottage / file, *rest)
    assert got.code == 2 and match in got.err and not got.out
    assert not (tmp_path / "out").exists()


def test_frames_that_break_a_budget_are_not_streamed(cottage, tmp_path, lumenmap):
    import hashlib

    lumenmap("export", cottage / "candles.toml", "-o", tmp_path)
    side = json.loads((tmp_path / "frames.json").read_text())
    data = bytes([255]) * (tmp_path / "frames.rgb").stat().st_size
    (tmp_path / "frames.rgb").write_bytes(data)
    side["sha256"] = hashlib.sha256(data).hexdigest()
    (tmp_path / "frames.json").write_text(json.dumps(side))
    got = lumenmap("stream", tmp_path, "--to", "127.0.0.1", "--house", cottage / "house.toml")
    assert got.code == 1 and "not played" in got.err


def test_run_waits_says_so_and_stops_at_once(cottage, tmp_path):
    almanac = tmp_path / "almanac.toml"
    almanac.write_text(
        '[almanac]\nplace = { latitude = 1.0, longitude = 1.0, timezone = "UTC" }\n'
        '[[rule]]\nshow = "none.toml"\non = "2099-01-01"\n'
    )
    process = subprocess.Popen(
        [sys.executable, "-m", "lumenmap", "run", str(almanac), "--to", "127.0.0.1"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    import time

    status = tmp_path / ".lumenmap" / "status.json"
    for _ in range(200):
        if status.exists():
            break
        time.sleep(0.1)
    assert json.loads(status.read_text())["state"] == "waiting"
    process.terminate()
    process.communicate(timeout=10)
    assert process.returncode == 0
    assert json.loads(status.read_text())["state"] == "stopped"


def test_run_stopped_while_playing_says_goodbye(cottage, tmp_path, lumenmap):
    """SIGTERM, as systemd sends it: dark, stream-terminated packets, status written, exit code 0."""
    import shutil
    import socket
    import time

    for name in ("house.toml", "first-frost.toml"):
        shutil.copy(cottage / name, tmp_path)
    almanac = tmp_path / "almanac.toml"
    almanac.write_text(
        '[almanac]\nhouse = "house.toml"\n[[rule]]\nshow = "first-frost.toml"\n'
        'on = "every day"\nfrom = "00:00"\nto = "24:00"\n'
    )
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken,
        socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager,
    ):
        manager.bind(str(tmp_path / "manager"))
        manager.settimeout(20)
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
        taken.bind(("127.0.0.1", 0))
        taken.settimeout(60)
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "lumenmap",
                "run",
                str(almanac),
                "--to",
                "127.0.0.1",
                "--port",
                str(taken.getsockname()[1]),
                "--steady",
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={k: v for k, v in os.environ.items() if k != "JOURNAL_STREAM"}
            | {"NOTIFY_SOCKET": str(tmp_path / "manager")},
        )
        packets = [taken.recv(2048)]
        assert manager.recv(99) == b"READY=1"
        assert manager.recv(99) == b"WATCHDOG=1"
        second = lumenmap("run", almanac, "--to", "127.0.0.1")
        assert second.code == 2
        assert "another lumenmap plays from this folder; try again when it has" in second.err
        status = tmp_path / ".lumenmap" / "status.json"
        for _ in range(100):
            time.sleep(0.1)
            if json.loads(status.read_text())["state"] == "playing":
                break
        else:
            raise AssertionError(status.read_text())
        process.terminate()
        _, err = process.communicate(timeout=20)
        assert process.returncode == 0 and "Traceback" not in err, err
        # Each line has its day and time, for the next morning.
        assert all(re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d  \S", s) for s in err.splitlines()), (
            err
        )
        assert "playing" in err
        taken.setblocking(False)
        try:
            while True:
                packets.append(taken.recv(2048))
        except BlockingIOError:
            pass
    assert json.loads(status.read_text())["state"] == "stopped"
    universes = {int.from_bytes(p[113:115], "big") for p in packets}
    assert len(universes) == 3
    for u in universes:
        mine = [p for p in packets if int.from_bytes(p[113:115], "big") == u]
        assert [p[112] for p in mine[-4:]] == [0, 0x40, 0x40, 0x40]
        assert not any(mine[-4][126:]), "dark before the end"


#: In a network namespace of its own: takes the address away under `lumenmap run`, gives it back.
NETWORK_GOES = """
import atexit, socket, subprocess, sys, threading, time
def ip(*words):
    subprocess.run(["ip", *words], check=True)
ip("link", "set", "lo", "up")
taken = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
taken.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
taken.bind(("", 0))
taken.settimeout(60)
process = subprocess.Popen(
    [sys.executable, "-m", "lumenmap", "run", sys.argv[1], "--to", "127.0.0.1",
     "--port", str(taken.getsockname()[1]), "--steady"], stderr=subprocess.PIPE, text=True)
atexit.register(process.kill)
said, told = [], threading.Event()
def listen():
    for line in process.stderr:
        said.append(line)
        told.set()
threading.Thread(target=listen, daemon=True).start()
def heard(words):
    for _ in range(200):
        if any(words in line for line in said):
            return
        told.wait(0.1)
        told.clear()
    raise AssertionError((words, said))
taken.recv(2048)
heard("playing ")
ip("address", "del", "127.0.0.1/8", "dev", "lo")
heard("no sign of 127.0.0.1:")
time.sleep(1.5)
assert process.poll() is None, said
taken.setblocking(False)
try:
    while True:
        taken.recv(2048)
except BlockingIOError:
    pass
ip("address", "add", "127.0.0.1/8", "dev", "lo")
heard(" back after ")
taken.settimeout(10)
assert any(taken.recv(2048)[126:]), "light again"
process.terminate()
assert process.wait(20) == 0
print("".join(said))
"""


def test_network_lost_and_found_while_an_evening_runs(cottage, tmp_path):
    import re
    import shutil

    unshare = shutil.which("unshare")
    if not (
        unshare
        and shutil.which("ip")
        and not subprocess.run([unshare, "-rn", "true"], capture_output=True).returncode
    ):
        pytest.skip("network namespaces can't be made here")
    for name in ("house.toml", "first-frost.toml"):
        shutil.copy(cottage / name, tmp_path)
    almanac = tmp_path / "almanac.toml"
    almanac.write_text(
        '[almanac]\nhouse = "house.toml"\n[[rule]]\nshow = "first-frost.toml"\n'
        'on = "every day"\nfrom = "00:00"\nto = "24:00"\n'
    )
    got = subprocess.run(
        [unshare, "-rn", sys.executable, "-c", NETWORK_GOES, str(almanac)],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert got.returncode == 0, got.stderr
    gone, back = [line for line in got.stdout.splitlines() if "127.0.0.1:" in line]
    assert re.search(r"no sign of 127\.0\.0\.1:\d+: network unreachable$", gone), gone
    seconds, lost = re.search(r" back after (\d+) s: ([\d,]+) packets lost\b", back).groups()
    assert int(lost.replace(",", "")) > 100 and int(seconds) >= 1, (
        "three universes, thirty times a second"
    )
    assert "lost" not in got.stdout.replace(back, ""), "one cause is told by one pair of lines"
    assert "Traceback" not in got.stdout


def test_systemd_unit_is_printed(cottage, lumenmap):
    got = lumenmap("run", cottage / "almanac.toml", "--to", "127.0.0.1", "--systemd")
    assert got.out.startswith("[Unit]\n") and "run" in got.out
    assert "--systemd" not in got.out


def test_the_journal_has_the_time_itself(monkeypatch, capsys):
    monkeypatch.setenv("JOURNAL_STREAM", "8:1")
    log_with_time("playing")
    assert capsys.readouterr().err == "playing\n"


def test_the_time_of_a_line_is_the_house_s_as_the_times_in_it(cottage, lumenmap, monkeypatch):
    """On a machine that keeps UTC, as most small servers do, a line would have two clocks."""
    monkeypatch.delenv("JOURNAL_STREAM", raising=False)
    monkeypatch.setattr(
        "lumenmap.jobs.evening.evenings.play_evenings", lambda asked, stop, wait, log: log("hello")
    )
    monkeypatch.setenv("TZ", "Pacific/Kiritimati")
    time.tzset()
    try:
        got = lumenmap("run", cottage, "--to", "127.0.0.1")
    finally:
        monkeypatch.undo()
        time.tzset()
    told = datetime.fromisoformat(re.fullmatch(r"(.*)  hello\n", got.err)[1])
    zone = load_almanac(cottage / "almanac.toml").place.zone
    assert abs(datetime.now(zone).replace(tzinfo=None) - told) < timedelta(minutes=2)


@pytest.mark.parametrize("command", ["tonight", "year"])
def test_a_folder_is_its_almanac(cottage, lumenmap, command):
    assert lumenmap(command, cottage).out == lumenmap(command, cottage / "almanac.toml").out != ""
    lumenmap(command, cottage.parent).fails(2, "almanac.toml: no such file")


def test_notices_have_their_time_too_while_it_runs(monkeypatch, capsys):
    monkeypatch.delenv("JOURNAL_STREAM", raising=False)
    with notices_with_time():
        notice("a card is full")
    assert re.fullmatch(r"[\d-]{10} [\d:]{8}  a card is full\n", capsys.readouterr().err)
    assert not logging.getLogger("lumenmap").handlers and logging.getLogger("lumenmap").propagate


def test_a_rule_of_last_year_is_told(cottage, tmp_path, lumenmap):
    """Who wrote a year with a date wonders next December why it stays dark."""
    path = shutil.copytree(cottage, tmp_path / "cottage") / "almanac.toml"
    text = path.read_text("utf-8")
    old = '\n[[rule]]\nname = "Party"\nshow = "first-frost.toml"\non = "2025-12-20"\nto = "22:00"\n'
    path.write_text(text + old + 'from = "sunset"\n', "utf-8")
    got = lumenmap("tonight", path, "--on", "2026-12-20").out.splitlines()
    assert got[-1] == "  Party is over: it has no day in the year to come"
    assert "is over" not in lumenmap("tonight", path, "--on", "2025-12-19").out


def test_after_midnight_it_is_still_the_same_night(tmp_path, lumenmap):
    """As at the desk and for a hub; somewhere it is between two and three at night just now."""
    east = (2 - datetime.now(UTC).hour + 11) % 24 - 11
    zone = f"Etc/GMT{-east:+d}" if east else "Etc/GMT"
    path = tmp_path / "almanac.toml"
    path.write_text(
        f'[almanac]\nplace = {{ latitude = 40, longitude = {15 * east}, timezone = "{zone}" }}\n'
        '[[rule]]\nshow = "a.toml"\non = "every day"\nfrom = "17:00"\nto = "23:00"\n'
    )
    before = datetime.now(ZoneInfo(zone)).date() - timedelta(days=1)
    assert json.loads(lumenmap("tonight", path, "--json").out)["date"] == str(before)


@pytest.mark.parametrize("day", ["0001-01-01", "1899-12-31", "2201-01-01", "9999-12-31"])
def test_evenings_have_years_that_calendars_have(cottage, lumenmap, day):
    says = f"{day} is out of range; expected a date of 1900 to 2200"
    lumenmap("tonight", cottage, "--on", day).fails(2, says)
    refused = lumenmap("year", cottage, "--year", f"{int(day[:4])}")
    assert refused.code == 2 and "Invalid value for '--year'" in refused.err
    for day in ("1900-01-01", "2200-12-31"):
        assert lumenmap("tonight", cottage, "--on", day).code == 0


def test_one_of_a_kind_is_one(cottage, tmp_path, lumenmap):
    path = tmp_path / "almanac.toml"
    path.write_text(
        '[almanac]\nplace = { latitude = 40, longitude = 15, timezone = "Europe/Rome" }\n'
        '[[once]]\ndate = "2026-06-01"\nshow = "a.toml"\n'
    )
    assert lumenmap("year", path, "--year", "2026").out.endswith(
        "\n1 evening in 2026\nproblem: a.toml doesn't exist\n"
    )

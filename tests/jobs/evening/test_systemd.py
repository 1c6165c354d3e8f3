"""The unit for the service manager: nothing splits it, and it may do little."""

import re
import shutil
import subprocess

import pytest

from lumenmap.core.errors import InputError
from lumenmap.core.system import lower_priority
from lumenmap.jobs.evening.systemd import systemd_unit


def test_systemd_unit_quotes_what_it_must():
    unit = systemd_unit(
        "100 % porch",
        ["/usr/bin/python3", "-m", "lumenmap", "run", "my house/50%.toml"],
        "/home/someone",
        "me",
    )
    assert 'ExecStart=/usr/bin/python3 -m lumenmap run "my house/50%%.toml"\n' in unit
    assert "Description=Light on the roofline: 100 %% porch\n" in unit
    assert "User=me" in unit and "Restart=on-failure" in unit and "KillSignal=SIGTERM" in unit
    assert "RestartPreventExitStatus=2" in unit, "no restart mends a typing error"


def test_systemd_unit_can_hold_anything_and_stays_the_same_unit():
    """Escapes as in systemd.syntax(7); $$ for $ as in systemd.service(5), Command lines [P]."""
    words = ["a\nExecStartPre=/bin/false", "$HOME", "%h", "", ";", "b\\", '"', "\u202e", "\udcff"]
    unit = systemd_unit("x\nExecStart=/bin/false\\", ["/bin/true", *words], "/", "me", ["/a b%"])
    assert (
        'ExecStart=/bin/true "a\\x0aExecStartPre=/bin/false" $$HOME "%%h" "" ";" '
        '"b\\\\" "\\"" "\\xe2\\x80\\xae" "\\xff"\n'
    ) in unit
    assert 'ReadWritePaths="-/a b%%"\n' in unit
    assert [w for w in unit.splitlines() if w.startswith("ExecStart")][1:] == []
    assert unit.isascii() and not any(line.endswith("\\") for line in unit.splitlines())


def test_only_for_sound_may_it_use_devices_and_those_of_sound_alone():
    """Names as in systemd.resource-control(5), DeviceAllow: char-alsa is all sound cards [P]."""
    silent, heard = (systemd_unit("x", ["/a"], "/", "me", sound=sound) for sound in (False, True))
    assert "PrivateDevices=yes\n" in silent and "DeviceAllow" not in silent
    assert "PrivateDevices=no\nDevicePolicy=closed\nDeviceAllow=char-alsa rw\n" in heard
    assert "SupplementaryGroups=audio\n" in heard


@pytest.mark.parametrize(
    ("program", "folder", "user"),
    [
        ("/a\nb", "/", "me"),
        ('/a"', "/", "me"),
        ("/a", "/b\nUser=root", "me"),
        ("/a", "/b\\", "me"),
        ("/a", "/b ", "me"),
        ("/a", "/", "me\nUser=root"),
    ],
)
def test_paths_that_systemd_cannot_be_told_are_refused(program, folder, user):
    with pytest.raises(InputError, match="systemd"):
        systemd_unit("x", [program], folder, user)


@pytest.mark.parametrize("started", [-10, 0, 15])
def test_the_light_goes_before_other_programs_and_the_making_of_shows_after_them(
    monkeypatch, started
):
    """Of two programs, that with the lower number goes first; 0 is usual (nice(2))."""
    assert "\nNice=-10\n" in systemd_unit("x", ["/a"], "/", "me")
    now = [started]

    def nice(more):
        now[0] = min(19, now[0] + more)
        return now[0]

    monkeypatch.setattr("lumenmap.core.system.os.nice", nice, raising=False)
    lower_priority()
    assert now[0] == max(5, min(19, started + 5))


def test_systemd_reads_the_unit_and_finds_it_hardened(tmp_path):
    """`systemd-analyze security` rates from 0, safe, to 10; common practice is under 4."""
    tool = shutil.which("systemd-analyze")
    if tool is None:
        pytest.skip("systemd-analyze isn't installed")
    file = tmp_path / "lumenmap.service"
    odd = ["a\nExecStartPre=/bin/false", "$HOME", "%h", "", ";", "b\\", '"', "ü"]
    file.write_text(systemd_unit("x", ["/bin/true", *odd], "/", "daemon", [str(tmp_path)]))
    got = subprocess.run(
        [tool, "security", "--offline=true", "--threshold=40", str(file)],
        capture_output=True,
        text=True,
    )
    assert got.returncode == 0, got.stdout[-2000:] + got.stderr
    rating = re.search(r"Overall exposure level for lumenmap.service: ([\d.]+)", got.stdout)
    assert rating and float(rating[1]) <= 4.0
    said = subprocess.run([tool, "verify", str(file)], capture_output=True, text=True).stderr
    assert not [line for line in said.splitlines() if "lumenmap.service:" in line], said

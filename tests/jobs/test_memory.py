"""Memory stays flat as a show gets longer."""

import subprocess
import sys

import pytest

from tests.small_house import WALL

CODE = """
import sys
from pathlib import Path
import lumenmap
lumenmap.export(lumenmap.load(sys.argv[1]), sys.argv[2])
# Not getrusage: its peak counts the process that started this one, up to the exec.
lines = Path("/proc/self/status").read_text().splitlines()
print(next(int(x.split()[1]) // 1024 for x in lines if x.startswith("VmHWM")))
"""
SHOW = """
show = { house = "house.toml", fps = 30, length = "1 h" }
[[cue]]
[[cue.layer]]
effect = "gradient"
"""


@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read from /proc")
def test_one_hour_of_500_pixels_in_under_400_mb(tmp_path):
    (tmp_path / "house.toml").write_text(WALL)
    (tmp_path / "show.toml").write_text(SHOW)
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(tmp_path / "show.toml"), str(tmp_path / "out")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert (tmp_path / "out" / "frames.rgb").stat().st_size == 108_000 * 500 * 3
    (tmp_path / "out" / "frames.rgb").unlink()
    assert int(done.stdout) < 400, f"{done.stdout.strip()} MB"

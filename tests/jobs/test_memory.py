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
show = {{ house = "house.toml", fps = 30, length = "{length}" }}
[[cue]]
[[cue.layer]]
effect = "still"
"""


def peak(folder, length):
    """Export a show of 500 pixels; return the most memory that it took, MB."""
    (folder / "show.toml").write_text(SHOW.format(length=length))
    words = [sys.executable, "-c", CODE, str(folder / "show.toml"), str(folder / "out")]
    return int(subprocess.run(words, capture_output=True, text=True, check=True).stdout)


@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read from /proc")
def test_memory_stays_flat_as_a_show_gets_longer(tmp_path):
    """The light of five minutes, 54 MB, is kept for the limiter; that of twenty, 216 MB, isn't."""
    (tmp_path / "house.toml").write_text(WALL)
    short, long = peak(tmp_path, "5 min"), peak(tmp_path, "20 min")
    assert (tmp_path / "out" / "frames.rgb").stat().st_size == 36_000 * 500 * 3
    assert long < short + 15, (short, long)
    assert short < 230

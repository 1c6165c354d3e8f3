"""A short form of `tests.jobs.evening.month`: two evenings, by a seed that brings many faults."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.long
def test_two_evenings_with_edits_and_faults_have_every_frame():
    unshare = shutil.which("unshare")
    if not (
        unshare
        and shutil.which("ip")
        and not subprocess.run([unshare, "-rmn", "true"], capture_output=True).returncode
    ):
        pytest.skip("namespaces can't be made here")
    root = Path(__file__).resolve().parents[3]
    got = subprocess.run(
        [
            unshare,
            "-rmn",
            sys.executable,
            "-m",
            "tests.jobs.evening.month",
            "--inside",
            "--days",
            "2",
            "--seed",
            "5",
        ],
        capture_output=True,
        text=True,
        cwd=root,
        timeout=500,
    )
    assert got.returncode == 0, got.stdout + got.stderr
    assert "'evenings': 2" in got.stdout and got.stdout.endswith("0 wrong\n"), got.stdout

"""Kill `make` at random moments with two writers at once, and count mixed sets: there must be none.

    python -m tests.core.kills --kills 500
    python -m tests.core.kills --kills 500 --namespace    # every process has number 1

Each round starts two writers of different shows into one folder, kills both at a random moment
(SIGKILL), and looks at what a reader finds: frames, side file and report of one show, or nothing.
In every tenth round, the first among them, a run that nobody kills must heal the folder and leave no leftovers.
"""

import argparse
import collections
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from lumenmap.core.folders.output_set import finish_interrupted
from lumenmap.starter.start import start

FILES = {"account.txt", "frames.json", "frames.rgb", "preview.gif", "report.json"}
#: As the command line, but nothing but moving in takes long: each rename waits a moment.
WRITER = """
import pathlib, sys, time
from lumenmap.core import system
move = system.replace
def slow(source, target):
    move(source, target)
    time.sleep(0.03)
system.replace = slow
import lumenmap.jobs.export, lumenmap.pictures.drawn.preview, lumenmap.pictures.encode.gif
print("ready", flush=True)
from lumenmap.cli import main
main()
"""


def shows(folder: Path) -> list[Path]:
    """Two short shows for one house, which differ in every file they make."""
    start(folder, metric=True)
    made = []
    for opacity in (0.1, 0.2):
        path = folder / f"show{opacity}.toml"
        path.write_text(
            f'[show]\nname = "of {opacity}"\nhouse = "house.toml"\nfps = 4\nlength = "1 s"\n'
            f'[[cue]]\n[[cue.layer]]\neffect = "gradient"\nopacity = {opacity}\n'
        )
        made.append(path)
    return made


def run(show: Path, out: Path, namespace: bool) -> subprocess.Popen[str]:
    """Start a writer; in a namespace of its own it is process 1 there, as in a container."""
    words = [sys.executable, "-c", WRITER, "make", str(show), "-o", str(out), "--width", "64"]
    if namespace:
        words = ["unshare", "--pid", "--fork", "--kill-child", "--mount-proc", *words]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def state(out: Path) -> str:
    """Say whose set a folder holds: a show's name, "nothing", or "MIXED" and how."""
    finish_interrupted(out)
    seen = {p.name for p in out.iterdir() if not p.name.startswith(".")}
    if not seen:
        return "nothing"
    if seen != FILES:
        return f"MIXED: {sorted(seen)}"
    report, side = (json.loads((out / n).read_text()) for n in ("report.json", "frames.json"))
    record = json.loads((out / ".lumenmap-files.json").read_text())["files"]
    digests = {n: hashlib.sha256((out / n).read_bytes()).hexdigest() for n in FILES}
    one = report["sha256"] == side["sha256"] == digests["frames.rgb"] and digests == record
    return str(report["show"]) if one else f"MIXED: {digests}"


def main() -> int:
    """Run the rounds, and print what was found."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--kills", type=int, default=500)
    words.add_argument("--namespace", action="store_true")
    words.add_argument("--folder", type=Path)
    words.add_argument("--seed", type=int, default=1)
    given = words.parse_args()
    chance, found, kills, worst = random.Random(given.seed), collections.Counter(), 0, 0.0
    folder = given.folder or Path(tempfile.mkdtemp())
    both, out = shows(folder), folder / "out"
    out.mkdir()
    longest, stages, rounds = 1.0, 0, 0
    while kills < given.kills:
        writers = [run(show, out, given.namespace) for show in both]
        for w in writers:
            w.stdout.readline()
        begun = time.monotonic()
        if rounds % 10 == 0:  # nobody is killed: both must end well, one after the other
            codes = [w.wait(120) for w in writers]
            longest = time.monotonic() - begun
            found["wrong exit code"] += codes != [0, 0]
        else:
            time.sleep(chance.uniform(0.0, longest))
            for w in writers:
                if w.poll() is None:
                    w.send_signal(signal.SIGKILL)
                    kills += 1
            stages += any(p.name.startswith(".lumenmap-set-") for p in out.iterdir())
        for w in writers:
            w.communicate()
        before = time.monotonic()
        now = state(out)
        worst = max(worst, time.monotonic() - before)
        found[now.partition(":")[0]] += 1
        if now.startswith("MIXED"):
            print(now)
        left = [p.name for p in out.iterdir() if p.name.startswith(".lumenmap-set-")]
        found["stage left"] += bool(left)
        rounds += 1
    print(
        f"{kills} kills in {rounds} rounds, {stages} with a stage left to heal: "
        f"{found['MIXED']} mixed, {found['stage left']} not healed, "
        f"{found['wrong exit code']} wrong exit codes; slowest healing {worst:.2f} s"
    )
    print(dict(found))
    if given.folder is None:
        shutil.rmtree(folder)
    return int(bool(found["MIXED"] + found["stage left"] + found["wrong exit code"]))


if __name__ == "__main__":
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    sys.exit(main())

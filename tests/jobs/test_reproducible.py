"""All output files are byte-equal twice, whatever hash seed, zone, locale, threads and cache.

One example in the suite; ``python -m tests.jobs.test_reproducible`` does all of them.
"""

import hashlib
import os
import shutil
import tempfile
from pathlib import Path

import pytest

from tests.one_process import one_after_another
from tests.small_house import WALL

ROOT = Path(__file__).resolve().parents[2]
#: What differs from run to run; the first finds no cache, the second that of the first.
ONE = {
    "PYTHONHASHSEED": "1",
    "TZ": "UTC",
    "LC_ALL": "C.UTF-8",
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
}
OTHER = {
    "PYTHONHASHSEED": "4242",
    "TZ": "Pacific/Kiritimati",
    "LC_ALL": "tr_TR.UTF-8",
    "OPENBLAS_NUM_THREADS": "2",
    "OMP_NUM_THREADS": "2",
}


def jobs(folder: Path, out: Path, few: bool) -> list[list[object]]:
    """Every command that writes files, for the shows, house and almanac of an example.

    ``few``: leave out what is slow and written like something else; feeds are suggested for a short
    wall, and pictures are small.
    """
    shows = [p for p in sorted(folder.glob("*.toml")) if "[show]" in p.read_text("utf-8")]
    house = folder / "house.toml"
    found: list[list[object]] = [
        ["sheets", house, "-o", out / "sheets"],
        ["power", folder / "wall.toml" if few else house, "--suggest", "-o", out / "plans.svg"],
        ["locate", house, "edges", "-o", out / "locate.rgb"],
    ]
    if not few:
        found += [
            ["map", house, "-p", out / "map.svg"],
            ["map", house, "-p", out / "map.pdf"],
            ["try", "chase", "--house", house, "-o", out / "try.gif", "--seconds", 1],
        ]
    for show in shows:
        own = out / show.stem  # else the next show's files would take the place of this one's
        own.mkdir()
        formats = [w for f in ("flash", "csv", "npy", "pcap", "c_array") for w in ("--format", f)]
        found += [
            ["make", show, "-o", own / "make", *(["--width", 160] if few else [])],
            ["export", show, "-o", own / "export", *formats],
            ["export", show, "-o", own / "board", "--format", "board"],
            ["power", house, "--show", show, "--plots", own / "plots"],
        ]
        films = () if few else ("a.png", "a.jpg", "a.apng", "a.webp", "a.mp4")
        for name in ("a.gif", "a.html", *films):
            found.append(["preview", show, "-o", own / name, "--width", 160, "--seconds", 1])
    if (book := folder / "almanac.toml").exists():
        files = ("--ics", out / "year.ics", "--picture", out / "year.png")
        found.append(["year", book, "--year", 2026, *files])
    return found


def digests(folder: Path, name: str, changed: dict[str, str], few: bool) -> dict[str, str]:
    """Run all jobs in an environment; return the SHA-256 of each file they wrote."""
    out = folder / name
    out.mkdir()
    caches = {"XDG_CACHE_HOME": str(folder / "caches"), "SOURCE_DATE_EPOCH": "1767225600"}
    done = one_after_another(
        jobs(folder, out, few),
        codes=(0, 1),
        text=True,
        env={**os.environ, **caches, **changed},
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
    files = sorted(p for p in out.rglob("*") if p.is_file())
    return {
        p.relative_to(out).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in files
    }


def differing(example: Path, place: Path, *, few: bool = False) -> tuple[list[str], int]:
    """Return the files of an example that differ, and how many there are."""
    folder = place / example.name
    shutil.copytree(example, folder, ignore=shutil.ignore_patterns(".lumenmap", "out"))
    (folder / "wall.toml").write_text(WALL.replace("20 mm", "20 cm"))
    one, other = digests(folder, "one", ONE, few), digests(folder, "two", OTHER, few)
    assert one.keys() == other.keys()
    return [name for name in one if one[name] != other[name]], len(one)


def test_every_file_of_an_example_twice(examples, tmp_path):
    different, count = differing(examples / "kelder-studio", tmp_path, few=True)
    assert not different
    assert count > 20


def test_the_stamp_of_a_calendar_is_the_one_that_is_given(
    examples, lumenmap, monkeypatch, tmp_path
):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1767225600")
    book, out = examples / "kelder-studio" / "almanac.toml", tmp_path / "a.ics"
    assert lumenmap("year", book, "--year", 2026, "--ics", out).code == 0
    assert "DTSTAMP:20260101T000000Z" in out.read_text()


@pytest.mark.parametrize("told", ["", "soon", "9" * 40, "1e9"])
def test_a_stamp_that_is_none(examples, lumenmap, monkeypatch, tmp_path, told):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", told)
    book = examples / "kelder-studio" / "almanac.toml"
    got = lumenmap("year", book, "--year", 2026, "--ics", tmp_path / "a.ics")
    got.fails(2, 'SOURCE_DATE_EPOCH: is ".*"; expected seconds since 1970-01-01 UTC')


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        for example in sorted(p.parent for p in (ROOT / "examples").glob("*/house.toml")):
            different, count = differing(example, Path(name))
            print(f"{example.name}: {count} files, {len(different)} differ {different}", flush=True)

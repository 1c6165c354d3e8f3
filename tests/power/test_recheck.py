"""Tampering is caught: one byte, a rewritten digest, another house, half a file."""

import hashlib
import json
import re

import pytest

from lumenmap.jobs.export import export as export_project
from lumenmap.jobs.project import load

SHOW = """
[show]
house = "house.toml"
fps = 20
length = "1 s"
[palette.warm]
stops = ["#ff8a3c", "#402010", "#ffd9a0"]
[[cue]]
[[cue.layer]]
effect = "gradient"
palette = "warm"
"""


@pytest.fixture(params=["branches", "four", "supplies"])
def export(request, tmp_path, house_texts):
    """An export of a small show, and its folder."""
    (tmp_path / "house.toml").write_text(house_texts[request.param])
    (tmp_path / "show.toml").write_text(SHOW)
    work = load(tmp_path / "show.toml")
    export_project(work, tmp_path / "out")
    return tmp_path / "out"


def rewrite(folder, change, *, digest=True):
    """Change the bytes; make the digest fit them if asked."""
    file, side = folder / "frames.rgb", folder / "frames.json"
    data = bytearray(file.read_bytes())
    change(data)
    file.write_bytes(data)
    if digest:
        sidecar = json.loads(side.read_text())
        sidecar["sha256"] = hashlib.sha256(data).hexdigest()
        side.write_text(json.dumps(sidecar))


def test_an_honest_export_passes(export, lumenmap):
    got = lumenmap("check", export / "frames.json")
    assert got.code == 0 and "no frame is over a budget" in got.out
    assert (export / "account.txt").read_text().strip() in got.out


def test_one_byte_is_noticed(export, lumenmap):
    def change(data):
        data[100] ^= 1

    rewrite(export, change, digest=False)
    got = lumenmap("check", export / "frames.json")
    assert got.code == 1 and "isn't the file that frames.json describes" in got.out


def test_over_budget_names_frame_budget_and_amps(export, lumenmap):
    sidecar = json.loads((export / "frames.json").read_text())
    size = sidecar["pixels"] * sidecar["channels"]

    def change(data):
        data[7 * size : 8 * size] = b"\xff" * size

    rewrite(export, change)
    (export / "account.txt").unlink()
    got = lumenmap("check", export / "frames.json", "--json")
    problems = json.loads(got.out)["problems"]
    assert got.code == 1 and problems
    assert all(p.startswith("frame 7 (0.350 s): ") for p in problems)
    named = r"(supply|branch|wire) \"[^\"]+\" would draw \d+\.\d{3} A; its budget is \d+\.\d{3} A$"
    assert all(re.search(named, p) for p in problems)


def test_an_account_that_says_otherwise_is_noticed(export, lumenmap):
    file = export / "account.txt"
    file.write_text(file.read_text().replace("0.0", "0.1", 1))
    got = lumenmap("check", export / "frames.json")
    assert got.code == 1 and "account.txt doesn't match frames.rgb" in got.out


def test_flashes_are_counted_again_and_are_a_warning(export, lumenmap):
    """White and black every 2 frames at 20 fps, from frame 4 on: named, with the time; exit 0."""
    sidecar = json.loads((export / "frames.json").read_text())
    size = sidecar["pixels"] * sidecar["channels"]
    level = 90 if sidecar["channels"] == 3 else 70

    def change(data):
        for k in range(20):
            data[k * size : (k + 1) * size] = bytes([level * (k >= 4 and k // 2 % 2)]) * size

    assert "no more than three a second anywhere" in lumenmap("check", export / "frames.json").out
    rewrite(export, change)
    (export / "account.txt").unlink()
    got = lumenmap("check", export / "frames.json", "--json")
    found = json.loads(got.out)
    assert got.code == 0 and not found["problems"], found["problems"]
    whole = [f for f in found["flashing"] if f["region"] == "the whole house"]
    assert [(f["kind"], f["pattern"], f["start"]) for f in whole] == [("general", False, 0.0)]
    got = lumenmap("check", export / "frames.json")
    assert (
        got.code == 0 and 'FLASHING: "the whole house": the light makes general flashes' in got.out
    )
    assert "can trigger seizures" in got.out and not re.search(r"\bsafe\b", got.out)


def test_half_a_file_is_noticed(export, lumenmap):
    def change(data):
        del data[-5:]

    rewrite(export, change)
    (export / "account.txt").unlink()
    got = lumenmap("check", export / "frames.json")
    assert got.code == 1 and "frames.rgb holds 19 whole frames and" in got.out


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("format", "other", "isn't a frames.json"),
        ("version", 2, "is version 2; this program reads version 1"),
        ("frames", "many", "frames: is missing or of the wrong type"),
        ("fps", 0, "fps: is 0; expected a rate above 0"),
        # A second of it is what the flashes are counted in: that was 10 GB.
        ("fps", 1e7, r"fps: is 10000000\.0; expected a rate above 0, at most 1000"),
        ("fps", 10**400, "fps: is 10{19}; expected a rate"),
        ("fps", float("nan"), "fps: is nan; expected a rate"),
        ("pixels", 3, "has 3 pixels of"),
        ("lines", [], "lines: differ from the lines of the house"),
        ("house", "gone.toml", "gone.toml: no such file"),
    ],
)
def test_a_sidecar_that_makes_no_sense_is_refused(export, lumenmap, key, value, says):
    side = export / "frames.json"
    side.write_text(json.dumps(json.loads(side.read_text()) | {key: value}))
    lumenmap("check", side).fails(2, says)


@pytest.mark.parametrize(
    ("text", "says"),
    [("{", "isn't JSON"), ("[]", "isn't a frames.json"), ("[" * 9999, "isn't JSON")],
)
def test_what_is_no_sidecar_is_refused(export, lumenmap, text, says):
    (export / "frames.json").write_text(text)
    lumenmap("check", export / "frames.json").fails(2, says)

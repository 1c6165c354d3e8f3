"""Tampering is caught: one byte, a rewritten digest, another house, half a file."""

import hashlib
import json
import re

import pytest

from lumenmap.jobs.export import export as export_project
from lumenmap.jobs.project import load
from lumenmap.power.account.compare import differences

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


FIGURES = ("budgets", "budget_amps", "peak_amps", "flashing")


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
        for figure in FIGURES:  # those of the bytes as they were
            del sidecar[figure]
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
        ("version", 2, "is lumenmap-frames version 2; expected version 1"),
        ("frames", "many", 'frames: is "many"; expected a whole number'),
        ("fps", 0, "fps: is 0; expected above 0"),
        # A second of it is what the flashes are counted in: that was 10 GB.
        ("fps", 1e7, r"fps: is 10000000\.0; expected at most 1000"),
        ("fps", 10**400, "fps: is 10{19,}…?; expected a number"),
        ("fps", float("nan"), "fps: is nan; expected"),
        ("pixels", 3, r"lines: have \d+ pixels in all, but pixels is 3"),
        ("lines", [], "lines: has 0 items; expected at least 1"),
    ],
)
def test_a_sidecar_that_makes_no_sense_is_refused(export, lumenmap, key, value, says):
    side = export / "frames.json"
    side.write_text(json.dumps(json.loads(side.read_text()) | {key: value}))
    lumenmap("check", side).fails(2, says)


def test_frames_for_other_lines_than_the_house_has_are_refused(export, lumenmap):
    side = export / "frames.json"
    was = json.loads(side.read_text())
    first, *others = was["lines"]
    side.write_text(json.dumps(was | {"lines": [first | {"name": "elsewhere"}, *others]}))
    lumenmap("check", side).fails(2, "lines: differ from the lines of the house")
    fewer = {"lines": [first | {"count": 3}], "pixels": 3}
    side.write_text(json.dumps(was | fewer))
    lumenmap("check", side).fails(2, "has 3 pixels of")


@pytest.mark.parametrize(
    ("text", "says"),
    [("{", "isn't JSON"), ("[]", "isn't a frames.json"), ("[" * 9999, "isn't JSON")],
)
def test_what_is_no_sidecar_is_refused(export, lumenmap, text, says):
    (export / "frames.json").write_text(text)
    lumenmap("check", export / "frames.json").fails(2, says)


def edit(export, change):
    side = export / "frames.json"
    sidecar = json.loads(side.read_text())
    change(sidecar)
    side.write_text(json.dumps(sidecar))
    return side


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("budget_amps",), 99.0, "budget_amps: is 99.0; counted again, it is "),
        (("peak_amps",), 0.01, "peak_amps: is 0.01; counted again"),
        (("budgets", 0, "peak"), 0.0, "budgets item 1, peak: is 0.0; counted again"),
        (("budgets", 0, "amps"), "9", "budgets item 1, amps: is 9; counted again"),
        (("budgets", 0, "name"), "x", "budgets item 1, name: is x; counted again"),
        (("budgets", 0, "mean"), None, "budgets item 1, mean: is None; counted again"),
        (("budgets", 0, "worst_frame"), -1, "budgets item 1, worst_frame: is -1; counted again"),
        (("budgets", 0, "margin"), 10**400, "budgets item 1, margin: is 1000"),
        (("budgets",), [], "budgets: is 0 items; counted again, it is "),
        (("budgets",), "none", "budgets: is none; counted again, it is "),
        (("caps", "limits", 0), 1, "caps, limits item 1: is 1; counted again"),
        (("caps",), 3, "caps: is 3; counted again, it is a table"),
        (("pixel_kind",), "apa102", "pixel_kind: is apa102; counted again"),
        (("house",), "Another", "house: is Another; counted again"),
        (("flashing",), ["the whole house"], "flashing: is 1 item; counted again, it is 0 items"),
        (("house_sha256",), "0" * 64, "the house file isn't the one that the frames were made for"),
    ],
)
def test_a_figure_that_differs_from_the_recount_is_told(export, lumenmap, path, value, says):
    def change(sidecar):
        for key in path[:-1]:
            sidecar = sidecar[key]
        sidecar[path[-1]] = value

    house = export.parent / "house.toml"
    got = lumenmap("check", edit(export, change), "--house", house)
    assert got.code == 1 and f"PROBLEM: {'' if 'isn' in says else 'frames.json, '}{says}" in got.out
    assert "every figure" not in got.out


@pytest.mark.parametrize(("wrong", "last"), [(20, "item 20"), (21, "and 1 more figure of")])
def test_twenty_differences_are_told_and_the_others_counted(wrong, last):
    told = differences({"budgets": [1.0] * wrong}, {"budgets": [2.0] * wrong})
    assert len(told) == wrong and last in told[-1]


def test_what_is_missing_is_told_and_is_no_failure(export, lumenmap):
    (export / "account.txt").unlink()
    side = edit(export, lambda sidecar: sidecar.pop("budgets"))
    got = lumenmap("check", side)
    assert got.code == 0
    assert "NOTE: frames.json doesn't state budgets: not compared" in got.out
    assert "NOTE: account.txt, the account of the power, isn't there: not compared" in got.out


def test_a_universe_that_the_house_does_not_have(export, lumenmap):
    def change(sidecar):
        sidecar["lines"][0]["universe"] += 7

    lumenmap("check", edit(export, change)).fails(2, "lines: differ from the lines of the house")


def test_nothing_outside_the_folder_is_named(export, lumenmap):
    for file in export.iterdir():
        if file.suffix in (".json", ".txt"):
            assert ".toml" not in file.read_text() and str(export.parent) not in file.read_text()
    side = json.loads((export / "frames.json").read_text())
    digest = hashlib.sha256((export.parent / "house.toml").read_bytes()).hexdigest()
    assert side["house_sha256"] == digest


def test_the_house_is_found_by_digest_then_by_name_or_asked_for(export, lumenmap, tmp_path_factory):
    house, side = export.parent / "house.toml", export / "frames.json"
    house.rename(export.parent / "renamed.toml")
    assert lumenmap("check", side).code == 0
    edited = export.parent / "renamed.toml"
    edited.write_text(edited.read_text() + "\n# edited\n")
    got = lumenmap("check", side)
    assert got.code == 1 and "the house file isn't the one" in got.out
    far = edited.rename(tmp_path_factory.mktemp("far") / "house.toml")
    says = "neither in this folder nor in the one above; give its file with --house"
    lumenmap("check", side).fails(2, says)
    assert "the house file isn't the one" in lumenmap("check", side, "--house", far).out

"""What counts as a change of a show's files, and what doesn't."""

import pytest

from lumenmap.jobs.evening.source_files import signature


@pytest.fixture
def folder(tmp_path):
    for name in ("a.toml", "b.toml", "almanac.toml", "house.toml", "notes.md", ".hidden.toml"):
        (tmp_path / name).write_text("1")
    (tmp_path / "pictures" / "deep").mkdir(parents=True)
    (tmp_path / "pictures" / "deep" / "Roses.JPG").write_text("1")
    return tmp_path


@pytest.mark.parametrize(
    ("name", "counts"),
    [
        ("a.toml", True),
        ("house.toml", True),
        ("pictures/deep/Roses.JPG", True),
        ("new.wav", True),
        ("b.toml", False),
        ("almanac.toml", False),
        ("notes.md", False),
        (".hidden.toml", False),
    ],
)
def test_files_that_a_show_may_use_count_and_the_others_do_not(folder, name, counts):
    show = folder / "a.toml"
    others = [folder / "a.toml", folder / "b.toml", folder / "almanac.toml"]
    before = signature(show, others=others)
    assert signature(show, others=others) == before
    (folder / name).write_text("23")
    assert (signature(show, others=others) != before) == counts


def test_values_and_folders_of_effects_count(folder, tmp_path_factory):
    effects = tmp_path_factory.mktemp("effects")
    seen = {signature(folder / "a.toml"), signature(folder / "a.toml", values=(("n", 2),))}
    (effects / "mine.py").write_text("1")
    seen.add(signature(folder / "a.toml", [effects]))
    (effects / "mine.py").write_text("23")
    seen.add(signature(folder / "a.toml", [effects]))
    assert len(seen) == 4

"""What a person reads about a house in feet is in feet: reports, account, check and errors."""

import re

import pytest

#: A number of metres; mm2 is a wire's size, and mm a lens.
METRES = re.compile(r"\d (m|cm|mm)\b(?!2)")


@pytest.fixture
def feet(tmp_path):
    from lumenmap.starter.start import start

    start(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    "words", [("map", "house.toml"), ("power", "house.toml"), ("check", "show.toml")]
)
def test_a_report_on_a_house_in_feet_has_no_metres(feet, lumenmap, words):
    done = lumenmap(words[0], feet / words[1])
    assert done.code == 0
    assert not METRES.search(done.out), done.out


def test_the_account_and_its_recount_say_feet(feet, lumenmap):
    # A feed in the middle, so that wires are counted next to it.
    text = (feet / "house.toml").read_text()
    assert 'at = "end"' in text
    (feet / "house.toml").write_text(text.replace('at = "end"', 'at = "20 ft"'))
    lumenmap("export", feet / "show.toml", "-o", feet / "out")
    text = (feet / "out" / "account.txt").read_text()
    assert "front string at 20 ft" in text
    assert "front string at the start" in text
    assert not METRES.search(text), text
    done = lumenmap("check", feet / "out" / "frames.json", "--house", feet / "house.toml")
    assert done.code == 0, done


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('at = "end"', 'at = "90 ft"', r'is "90 ft", but the line is 49 ft 3 in long'),
        ("width = 24", "width = 9000", r'is "9000", over 1,640 ft, beyond any house'),
        ('jumper = "9 ft"', 'jumper = "1 ft"', r"the jumper of 1 ft is too short: it is \d+ ft"),
    ],
)
def test_an_error_about_a_house_in_feet_has_no_metres(feet, lumenmap, old, new, says):
    text = (feet / "house.toml").read_text()
    assert old in text
    (feet / "house.toml").write_text(text.replace(old, new, 1))
    done = lumenmap("power", feet / "house.toml")
    done.fails(2, says)
    assert not METRES.search(done.err), done.err

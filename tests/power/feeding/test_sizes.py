"""Plans choose among wires of the house's own system, and both systems go as thick."""

import pytest

from lumenmap.parts.wires import wire
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.suggest import suggest
from lumenmap.site import Site
from tests.small_house import WALL

STRINGS = 'string = { pixels = 50, spacing = "0.2 m", wire = "18 AWG" }\n'
#: Full white asks for more copper than 2.5 mm2 over so long a lead, and 12 V may fall to 9 V.
FAR = (
    WALL.replace('"20 mm"', '"200 mm"').partition("wiring.accept")[0]
    + STRINGS
    + 'feed = [{ supply = "one", to = "all", WIRElength = "60 m", fuse = 3 }]\n'
)


@pytest.fixture
def site(tmp_path):
    def made(text):
        file = tmp_path / "house.toml"
        file.write_text(text)
        return Site.read(file)

    return made


def test_both_systems_go_as_thick(site):
    """A size is the other system's where it has as much copper, within half a gauge (12 %)."""
    mm2, awg = (
        Ground(site(FAR.replace("WIRE", f'wire = "{size}", ')))
        for size in ("1.5 mm2", "16 AWG stranded")
    )
    for ours, theirs in ((mm2.stock, awg.stock), (mm2.along, awg.along)):
        assert [w.name for w in ours] == [w.name for w in ours if "mm2" in w.name]
        assert [w.name for w in theirs] == [w.name for w in theirs if "AWG" in w.name]
        assert ours[-1].area >= 0.88 * theirs[-1].area
    assert mm2.along[-1].area > mm2.stock[-1].area and awg.along[-1].area > awg.stock[-1].area


def test_a_far_metric_wall_gets_thicker_feeds(site):
    """It got none: the planner knew nothing thicker than 2.5 mm2."""
    found = {
        size: suggest(site(FAR.replace("WIRE", f'wire = "{size}", '))).plan("feeds")
        for size in ("1.5 mm2", "16 AWG stranded")
    }
    metric, feet = found["1.5 mm2"], found["16 AWG stranded"]
    assert max(wire(f.wire).area for f in metric.plan.feeds) > 2.5
    assert metric.reached == pytest.approx(feet.reached, abs=0.02)
    assert metric.does and feet.does


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        (WALL, True),
        (WALL.replace('"m"', '"ft"'), False),
        (FAR.replace("WIRE", 'wire = "16 AWG", '), False),
        (FAR.replace("WIRE", ""), False),  # 16 AWG is assumed, and said to be
        (FAR.replace("WIRE", "").replace('"18 AWG"', '"0.75 mm2"'), True),
    ],
)
def test_the_system_is_that_of_the_wires_the_house_has_or_of_its_lengths(site, text, metric):
    assert all(("mm2" in w.name) == metric for w in Ground(site(text)).stock)

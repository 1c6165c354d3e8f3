"""Light by light: the cheapest plan of each step, and no plan made that can't be it."""

from contextlib import suppress

import pytest

from lumenmap.power.feeding import choose
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError
from lumenmap.site import Site


@pytest.fixture(params=[10.0, 0.2], ids=["enough", "too little"])
def ground(request, small_map, small_house):
    pixelmap = small_map((24,), kind="ws2812b", spacing=0.1)
    feeds = [("f", "s", "line-0", "start", "14 AWG", 1.0, 5.0)]
    return Ground(Site(small_house(pixelmap, [("s", 5.0, request.param)], feeds), pixelmap), 1.0)


def of_all(ground):
    """The cheapest of every kind, the slow way."""
    found = []
    for name in choose.KINDS:
        if choose.supplied(ground)[0] >= ground.level or name in ("ends", "volts"):
            with suppress(NoPlanError):
                found.append(choose._at(name, ground, ground.level))
    return choose.cheapest(found)


def test_each_step_is_the_cheapest_of_all_kinds(ground, monkeypatch):
    made, judge = set(), choose.judge
    wished = choose.plans(ground)
    monkeypatch.setattr(choose, "judge", lambda g, p: made.add(p.name) or judge(g, p))
    steps = choose.steps(ground, wished)
    today = all(row.best and row.best.plan.name == "as-is" for row in steps)
    assert (made == {"as-is"}) == today, "what costs nothing needs no other plan beside it"
    assert {row.level for row in steps} == set(choose.STEPS)
    for row in steps:
        made_for = of_all(ground.at(row.level))
        assert (row.best and row.best.plan, row.best and row.best.bill.money) == (
            made_for and made_for.plan,
            made_for and made_for.bill.money,
        )


def test_a_house_whose_wiring_is_dangerous_has_steps_of_other_plans(small_map, small_house):
    pixelmap = small_map((24,), kind="ws2812b", spacing=0.1)
    feeds = [("f", "s", "line-0", "start", "24 AWG", 1.0, 30.0)]
    site = Site(small_house(pixelmap, [("s", 5.0, 10.0)], feeds), pixelmap)
    assert site.verdict.dangers
    rows = choose.steps(Ground(site, 1.0), [])
    assert [row.best.plan.name != "as-is" for row in rows if row.best] == [True] * 3

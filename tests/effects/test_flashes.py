"""As they come, effects stay at three flashes a second or fewer (WCAG 2.2, criterion 2.3.1 [P])."""

import pytest

from lumenmap.codes.flashing import FlashCounter
from lumenmap.frames.render import render
from lumenmap.jobs import trial
from lumenmap.show.effects.registry import effects


@pytest.mark.parametrize("palette", ["", "spectrum"])
@pytest.mark.parametrize("effect", list(effects()))
def test_defaults_flash_no_more_than_three_times_a_second(effect, palette):
    work = trial.trial(effect, palette, seconds=8, house=trial.STARTER)
    watch = FlashCounter(work.show.fps, work.site.flash_regions)
    for light in render(work.plan):
        watch.add(light)
    # Cut at any moment, an effect need not join its own beginning.
    assert [str(found) for found in watch.findings(loop=False)] == []

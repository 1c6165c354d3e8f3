"""Effects that imitate something move as it does: measured on a straight edge, and on heights."""

import numpy as np
import pytest

from lumenmap.codes.flashing import FlashCounter
from lumenmap.colour.palette import Palette
from lumenmap.motion.at import At
from lumenmap.show.effects.registry import effects

KNOWN = effects()
WHITE = Palette("white", ["white"])
BANDS = Palette("bands", ["red", "lime", "blue"])
FPS = 40.0


def edge(length: float = 10.0, count: int = 200) -> At:
    """Places along one level edge that starts at the left."""
    along = (np.arange(count) + 0.5) * length / count
    return places(np.stack([along, 0 * along, 0 * along + 3], -1), along, length)


def column(high: float = 6.0, count: int = 61) -> At:
    """Places above each other, from the ground up."""
    up = np.linspace(0, high, count)
    return places(np.stack([0 * up, 0 * up, up], -1), up, high)


def places(xyz: np.ndarray, along: np.ndarray, length: float) -> At:
    n, full = len(along), np.full(len(along), length)
    front = np.tile([0.0, -1, 0], (n, 1))
    return At(xyz, along, along, full, front, full, xyz.min(0), xyz.max(0), {})


def ask(name: str, at: At, seconds: float, palette: Palette = WHITE, **given) -> np.ndarray:
    t = np.arange(0, seconds, 1 / FPS)[:, None]
    return KNOWN[name].function(at, t, palette, **{**KNOWN[name].read({}), **given})


def test_balls_fall_with_the_same_acceleration_in_every_bounce():
    """Under gravity height over time is a parabola, of one curvature at each bounce."""
    at = edge()
    light = ask("rebound", at, 5.5, balls=1, flight=2.0, keep=0.5, size=0.4, least=0.0)[..., 0]
    place = np.where(light.sum(1) > 0, (light * at.along_edge).sum(1) / light.sum(1).clip(1e-9), 0)
    flights = [(0.3, 1.9), (2.1, 3.3), (3.5, 4.3)]  # 2 s, then 1.41 s and 1 s
    curves, tops = [], []
    for start, stop in flights:
        rows = slice(int(start * FPS), int(stop * FPS))
        fit = np.polyfit(np.arange(rows.start, rows.stop) / FPS, place[rows], 2)
        curves.append(-2 * fit[0])
        tops.append(place[rows].max() - 0.2)
    assert curves == pytest.approx([8 * 9.6 / 2**2] * 3, rel=0.02)
    assert tops == pytest.approx([9.6, 4.8, 2.4], rel=0.02)


def test_pieces_stack_up_from_the_far_end_and_all_go():
    at = edge()
    options = {"length": 1.0, "speed": 4.0, "fill": 10.0, "hold": 2.0}
    light = ask("woodpile", at, 19.5, **options)[..., 0]
    lit = light > 0.2
    for arrived in (1, 4, 9):  # a piece a second: just after one arrived, before the next is seen
        assert lit[int((arrived + 0.02) * FPS)][at.along_edge > 10 - arrived].mean() > 0.9
        # The next one is still 4 m away from its place.
        between = (at.along_edge > 10 - arrived - 3.8) & (at.along_edge < 10 - arrived - 0.1)
        assert not lit[int((arrived + 0.02) * FPS)][between].any()
    assert lit[int(10.5 * FPS)].mean() > 0.9
    assert lit[int(11.9 * FPS)].mean() > 0.9
    leaving = lit[int(12.1 * FPS) : int(16.9 * FPS)].mean(1)
    assert (np.diff(leaving) <= 0.06).all()
    assert not lit[int(16.95 * FPS)].any()


def test_drops_fall_past_the_high_before_the_low_and_ever_faster():
    """What hangs 1 m lower goes later, by the time that a fall from the top takes."""
    at = column()
    light = ask("eavesdrip", at, 30, gather=4.0, size=0.6, least=0.0)[..., 0]
    top = light[:, -1]
    assert np.ptp(top) > 0.5
    late = np.sqrt(2 * (6.0 - at.xyz[:, 2]) / 1.6)
    for n in (0, 20, 40):
        shift = round(late[n] * FPS)
        assert light[shift:, n][: 20 * 40] == pytest.approx(top[: 20 * 40], abs=0.12)


def test_a_flag_has_equal_bands_by_height_and_its_folds_run():
    at = column()
    still = ask("windflag", at, 0.05, BANDS, speed=0.0, sway=0.0, least=1.0, soft=0.0)[0]
    top, middle, bottom = still[[55, 30, 5]]
    assert (top, middle, bottom) == (
        pytest.approx(BANDS.stop(0)),
        *map(pytest.approx, (BANDS.stop(1), BANDS.stop(2))),
    )
    counts = [(still[:, c] > 0.5).sum() for c in range(3)]
    assert counts == pytest.approx([61 / 3] * 3, abs=1.5)
    upright = ask("windflag", edge(), 0.05, BANDS, bands="upright", sway=0.0, least=1.0)[0]
    assert upright[5] == pytest.approx(BANDS.stop(0))
    assert upright[-5] == pytest.approx(BANDS.stop(2))
    folds = ask("windflag", edge(30.0, 600), 6, spacing=3.0, speed=1.0)[..., 0]
    first, last = folds[20], folds[20 + int(2 * FPS)]  # 2 m further after 2 s
    shifted = np.corrcoef(first[:-40], last[40:])[0, 1]
    assert shifted > 0.9 > np.corrcoef(first, last)[0, 1] + 0.5


@pytest.mark.parametrize("every", [3.0, 4.5])
def test_a_storm_keeps_inside_the_limits_of_flashing(every):
    """No more than three flashes in any second (WCAG 2.2, 2.3.1 [P]), at its most frequent too."""
    watch = FlashCounter(FPS, {"house": np.arange(200)})
    light = ask("summerstorm", edge(), 60, every=every, least=0.0)
    watch.add(light)
    assert [str(f) for f in watch.findings(loop=False)] == []
    bright = light.max(axis=(1, 2)) > 0.4
    assert 0.05 < bright.mean() < 0.6  # it glows, and rests


def test_the_answer_mirrors_the_call():
    at = edge()
    light = ask("antiphon", at, 7.2, note=0.6, notes=4, least=0.0)[..., 0]
    late = round(5 * 0.6 * FPS)
    call, answer = light[: 4 * 24], light[late : late + 4 * 24]
    left = at.along_edge < 5
    assert call[:, left].max() > 0.5
    assert not call[:, ~left].any()
    heard, said = answer[:, ~left][:, ::-1], call[:, left]
    assert heard == pytest.approx(said, abs=1e-4)


def test_a_shooting_star_flies_at_its_speed_and_is_rare():
    at = edge(40.0, 400)
    light = ask("starfall", at, 40, every=20.0, speed=8.0, tail=2.0, stars=0.0)[..., 0]
    seen = light.max(1) > 0.3
    assert 1 <= np.diff(seen.astype(int)).clip(0).sum() <= 3
    rows = np.flatnonzero(light.max(1) > 0.6)
    rows = rows[: np.argmax(np.diff(rows, append=1e9) > 1) + 1]
    place = at.along_edge[light[rows].argmax(1)]
    assert abs(np.polyfit(rows / FPS, place, 1)[0]) == pytest.approx(8.0, rel=0.03)


def test_eyes_come_in_pairs_as_far_apart_as_asked_and_blink():
    at = edge(20.0, 2000)
    given = {"spacing": 2.0, "apart": 0.4, "size": 0.15, "stay": 6.0}
    light = ask("peepers", at, 24, **given)[..., 0]
    open_ = light > 0.3
    starts = (np.diff(open_[100].astype(int)) == 1).sum()
    assert starts and starts % 2 == 0
    middles = [
        m.mean() for m in np.split(at.along_edge, np.flatnonzero(np.diff(open_[100]) != 0) + 1)
    ][1::2]
    assert np.diff(middles)[::2] == pytest.approx(0.4, abs=0.02)
    blinks = np.diff(open_.astype(int), axis=0)
    assert (np.abs(blinks).sum(0) > 4).any()


def test_a_colour_that_drifts_all_evening_isnt_seen_to_move():
    """In a minute of three hours a colour goes 1/180 of the palette's way, and comes back to it."""
    at = edge()
    t = np.array([[0.0], [60.0], [3 * 3600 / 2], [3 * 3600.0]])
    given = {**KNOWN["nightlong"].read({}), "least": 1.0}
    light = KNOWN["nightlong"].function(at, t, BANDS, **given)
    assert np.abs(light[1] - light[0]).max() < 0.06
    assert np.abs(light[2] - light[0]).max() > 0.3
    assert light[3] == pytest.approx(light[0], abs=1e-5)

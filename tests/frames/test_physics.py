"""Measured on the rendered frames: speeds, arrival times, Poisson flashes, loops, envelopes."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from scipy import stats

from lumenmap.frames.render import render, render_block
from lumenmap.frames.seam import Seam, SeamCounter
from tests.frames.shows import one

FT = 0.3048


def light_of(work) -> np.ndarray:
    """(T, N) light of the white palette's first channel."""
    return np.concatenate(list(render(work.plan)))[..., 0]


def delay(a: np.ndarray, b: np.ndarray, fps: float, reach: float) -> float:
    """How much later, up to ``reach``, ``b`` shows what ``a`` showed (s), to a part of a frame."""
    a, b = a - a.mean(), b - b.mean()
    lags = np.arange(-round(reach * fps), round(reach * fps) + 1)
    score = np.array(
        [
            np.dot(a[max(0, -k) : len(a) - max(0, k)], b[max(0, k) : len(b) - max(0, -k)])
            / (len(a) - abs(k))
            for k in lags
        ]
    )
    best = int(np.argmax(score))
    y = score[best - 1 : best + 2]
    return float(lags[best] + (y[0] - y[2]) / (2 * (y[0] - 2 * y[1] + y[2]))) / fps


@pytest.mark.parametrize(
    ("way", "speed"), [("edge", 4.0), ("edge reversed", 4.0), ("line", 4.0), ("edge", -4.0)]
)
def test_a_chase_moves_four_feet_a_second_on_every_edge(lay, way, speed):
    """Within 0.5 %, the edges that the wire runs backwards included."""
    work = lay(
        one("chase", 30, speed=f'"{speed} ft/s"', spacing='"16 ft"', taper=1, way=f'"{way}"')
    )
    light = light_of(work)
    seen = 0
    for number in range(len(work.site.pixels.edge_names)):
        on = np.flatnonzero(work.site.pixels.edge == number)
        if len(on) < 20:
            continue
        along = (work.site.pixels.along_line if way == "line" else work.site.pixels.along_edge)[on]
        order = np.argsort(along)
        a, b = on[order[2]], on[order[len(on) // 2]]  # less than half a spacing apart
        apart = along[order[len(on) // 2]] - along[order[2]]
        apart = min(apart, 7 * FT)
        b = on[np.argmin(np.abs(along - along[order[2]] - apart))]
        apart = along[on.tolist().index(b)] - along[order[2]]
        measured = apart / delay(light[:, a], light[:, b], work.show.fps, 1.95) / FT
        want = -speed if way == "edge reversed" else speed
        assert measured == pytest.approx(want, rel=0.005), work.site.pixels.edge_names[number]
        seen += 1
    assert seen >= 4


def test_a_ring_reaches_corners_when_their_distance_in_space_says(lay):
    work = lay(
        one(
            "rings",
            24,
            start='"main/peak-front"',
            speed='"5 ft/s"',
            spacing='"60 ft"',
            width='"6 ft"',
        )
    )
    light, pixels = light_of(work), work.site.pixels
    peak = work.site.house.corners["main/peak-front"]
    arrival = {}
    for name in ("front eave", "porch", "far eave"):
        place = {"front eave": [0, 0], "porch": [-4 * FT, -6 * FT], "far eave": [0, 30 * FT]}[name]
        at = int(np.argmin(np.hypot(*(pixels.xyz[:, :2] - place).T)))
        away = float(np.linalg.norm(pixels.xyz[at] - peak))
        column = light[:, at].astype(float)
        top = int(np.argmax(column))
        near = slice(max(0, top - 30), top + 31)
        arrival[name] = (np.average(np.arange(len(column))[near], weights=column[near]) / 40, away)
    (t0, d0), *rest = arrival.values()
    for t1, d1 in rest:
        want = (d1 - d0) / (5 * FT)
        # The next ring follows after 12 s: arrivals are known but for whole spacings.
        assert (t1 - t0 - want + 6) % 12 - 6 == pytest.approx(0, abs=0.03)


def test_glints_are_a_poisson_process(lay):
    """Chi-square of flashes a pixel and of waits between them."""
    rate, seconds = 0.5, 120
    work = lay(one("glint", seconds, rate=f'"{rate} /s"', decay='"50 ms"'))
    light = light_of(work)
    # A flash is where light rises from one frame to the next: it only falls otherwise.
    starts = np.diff(light, axis=0) > 0
    counts = starts.sum(0)
    # Flashes within one frame are seen as one: the rate that frames of 25 ms can show.
    shown = (1 - np.exp(-rate / 40)) * 40 * seconds
    assert counts.mean() == pytest.approx(shown, rel=0.02)
    edges = np.quantile(stats.poisson(shown).rvs(20000, random_state=1), np.linspace(0, 1, 9)[1:-1])
    bins = np.concatenate([[-0.5], np.unique(edges) + 0.5, [1e9]])
    seen = np.histogram(counts, bins)[0]
    expected = np.diff(stats.poisson(shown).cdf(bins)) * len(counts)
    assert stats.chisquare(seen, expected * seen.sum() / expected.sum()).pvalue > 0.005
    waits = np.concatenate(
        [np.diff(np.flatnonzero(starts[:, n])) for n in range(0, len(counts), 3)]
    )
    ends = stats.geom(1 - np.exp(-rate / 40)).ppf(np.linspace(0, 1, 9)[1:-1])
    bins = np.concatenate([[0.5], ends + 0.5, [1e9]])
    expected = np.diff(stats.geom(1 - np.exp(-rate / 40)).cdf(bins))
    seen = np.histogram(waits, bins)[0]
    assert stats.chisquare(seen, expected * seen.sum() / expected.sum()).pvalue > 0.005


def test_flakes_cross_levels_at_their_heights(lay):
    """What passes the top of a rake passes its foot later, by height over speed, on average."""
    work = lay(
        one("flakefall", 200, fall='"3 ft/s"', wind='"0 ft/s"', spacing='"30 ft"', size='"10 ft"')
    )
    light = light_of(work)
    rake = np.flatnonzero(
        work.site.pixels.edge == work.site.pixels.edge_names.index("main/rake-left")
    )
    z = work.site.pixels.xyz[rake, 2]
    high, low = rake[np.argmax(z)], rake[np.argmin(z)]
    later = delay(light[:, high], light[:, low], 40, 8)
    drop = (z.max() - z.min()) / FT
    assert drop / 3 / 1.25 * 0.7 < later < drop / 3 / 0.75 * 1.3


def test_a_tide_lights_the_low_before_the_high(lay):
    work = lay(one("tide", 8, period='"16 s"', waves='"0 ft"', soft='"0 ft"'))
    lit = light_of(work) > 0.5
    z = work.site.pixels.xyz[:, 2]
    first = np.argmax(lit, axis=0)
    order = np.argsort(z)
    assert (np.diff(first[order]) >= 0).all()


def test_a_pendulum_keeps_time(lay):
    work = lay(one("pendulum", 20, period='"5 s"'))
    light = light_of(work)
    assert np.abs(light[:400] - light[200:600]).max() < 1e-4


def test_a_picture_is_seen_at_its_places(lay, tmp_path):
    """A picture half red, half blue: left pixels red, right ones blue, whatever way the wire runs."""
    from PIL import Image

    picture = Image.new("RGB", (40, 20), "blue")
    picture.paste("red", (0, 0, 20, 20))
    picture.save(tmp_path / "half.png")
    plain = one("picture", 1).replace("fps = 40", "fps = 40\nmatch_screen = false")
    work = lay(f"{plain}\nfile = 'half.png'\nfit = 'fill'\n")
    light = render_block(work.plan, 0, 1)[0]
    older = lay(f"{plain}\nfile = 'half.png'\nfit = 'stretch'\n")
    assert np.array_equal(render_block(older.plan, 0, 1)[0], light)  # its name in older shows
    x = work.site.pixels.xyz[:, 0]
    middle = (x.min() + x.max()) / 2
    for side, channel in ((x < middle - 0.3, 0), (x > middle + 0.3, 2)):
        assert light[side][:, channel] == pytest.approx(1, abs=1e-5)
        assert light[side].sum(1) == pytest.approx(1, abs=1e-5)


def test_an_envelope_by_hand(lay):
    work = lay(
        one("still", 4, level=1, envelope='{ at = ["0 s", "1 s", "2 s"], level = [0, 1, 0.5] }')
    )
    level = light_of(work)[:, 0]
    assert level[[0, 20, 40, 60, 80, 150]] == pytest.approx([0, 0.5, 1, 0.75, 0.5, 0.5], abs=1e-6)


def test_crossing_cues_keep_the_light_up(lay):
    """Two cues of the same light, one fading out as the other fades in: no dip, no bump."""
    show = one("still", 4, level=1).replace(
        "[[cue]]", '[[cue]]\nlength = "2.5 s"\nfade_out = "1 s"\neasing = "ease-in-out"', 1
    )
    show += '\n[[cue]]\nstart = "1.5 s"\nfade_in = "1 s"\neasing = "ease-in-out"\n[[cue.layer]]\n'
    show += 'effect = "still"\npalette = "one"\n'
    assert light_of(lay(show)) == pytest.approx(1, abs=1e-5)


def test_delay_and_pace(lay):
    plain = light_of(lay(one("brightwake", 6)))
    late = light_of(lay(one("brightwake", 6, delay='"1 s"')))
    assert_array_equal(late[40:], plain[:-40])
    twice = light_of(lay(one("brightwake", 6, pace=2)))
    assert_array_equal(twice[:100], plain[0:200:2])
    back = light_of(lay(one("brightwake", 6, pace=-1, delay='"6 s"')))
    assert_array_equal(back[40:], plain[1:201][::-1])


def seam_of(project, cut=None):
    counter = SeamCounter(project.show.frames)
    codes = np.concatenate([np.rint(b * 255).astype(np.uint8) for b in render(project.plan)])
    for first in range(0, len(codes), cut or len(codes)):
        counter.add(codes[first : first + (cut or len(codes))])
    return counter.seam()


@pytest.mark.parametrize("cut", [1, 2, 7, 64])
def test_a_seam_is_the_same_however_the_show_is_cut_into_blocks(lay, cut):
    project = lay(one("murmur", 6, palette='"spectrum"'))
    whole = seam_of(project)
    assert whole.usual > 0 and seam_of(project, cut) == whole


def test_a_loop_that_crosses_has_no_seam(lay):
    cut = lay(one("murmur", 6, palette='"spectrum"'))
    crossed = lay(
        one("murmur", 6, palette='"spectrum"').replace("fps = 40", 'fps = 40\ncross = "2 s"')
    )
    assert seam_of(cut).seen
    assert "cross =" in seam_of(cut).text()
    assert not seam_of(crossed).seen
    # Before the crossing nothing is changed.
    assert_array_equal(render_block(cut.plan, 0, 150), render_block(crossed.plan, 0, 150))


def test_a_periodic_show_of_whole_periods_has_no_seam(lay):
    assert not seam_of(lay(one("pendulum", 5, period='"5 s"'))).seen


def test_matched_to_the_screen_white_is_mixed_for_the_dies(lay):
    plain = lay(one("still", 1).replace("fps = 40", "fps = 40\nmatch_screen = false"))
    matched = lay(one("still", 1))
    assert render_block(plain.plan, 0, 1)[0, 0] == pytest.approx([1, 1, 1])
    mixed = render_block(matched.plan, 0, 1)[0, 0]
    assert mixed.max() == pytest.approx(1)
    assert mixed[2] < 0.6


def test_a_seam_after_a_show_that_stands_still_is_a_jump():
    """It was "9999 times the usual step", a figure of no use."""
    assert "its last step is a jump; write cross" in Seam(0.5, 0.0).text()
    assert "its last step is 9 times the usual one; write" in Seam(0.09, 0.01).text()

"""Shows that play to a piece of music: what happens on its beats, however they breathe."""

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

import lumenmap
from lumenmap.core.errors import InputError
from lumenmap.frames.render import opacity, render_block
from lumenmap.jobs.evening.source_files import signature
from lumenmap.jobs.project import load
from lumenmap.show.load import load_show
from lumenmap.sound import labels
from lumenmap.sound.labels import beats_file
from lumenmap.sound.piece import counts
from tests.sound.pieces import RATE, beats_at, piece

HOUSE = Path(__file__).resolve().parents[2] / "examples" / "alder-cottage" / "house.toml"
#: Hits within so much (s) count, as for mir_eval's F-measure.
NEAR = 0.07


def drifting(t):
    return 100 - 20 * np.cos(2 * np.pi * t / 60)


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    """A made-up piece that drifts from 80 to 120 a minute and back, and its house."""
    folder = tmp_path_factory.mktemp("drift")
    samples, beats = piece(beats_at(drifting, 60))
    soundfile.write(folder / "song.flac", samples, RATE)
    shutil.copy(HOUSE, folder)
    return folder, beats


def written(folder, text, name="show.toml"):
    (folder / name).write_text(text)
    return folder / name


EDGES = """
[show]
house = "house.toml"
sound = "song.flac"
tempo = 100
fps = 60
[[cue]]
start = "beat 1"
[[cue.layer]]
effect = "still"
turns = { parts = "edges", every = "1 beat" }
"""


def lit_edges(work, *seconds):
    """The edges that are lit at each moment."""
    out = []
    for s in seconds:
        frame = int(np.ceil(s * work.show.fps))
        light = render_block(work.plan, frame, frame + 1)[0].max(-1)
        out.append({int(e) for e in work.site.pixels.edge[light > 0.02]})
    return out


def test_each_beat_lights_the_next_edge_of_a_piece_that_drifts(recorded):
    folder, beats = recorded
    work = load(written(folder, EDGES))
    assert work.show.seconds == pytest.approx(
        soundfile.info(folder / "song.flac").duration, abs=0.02
    )
    edge = work.site.pixels.edge
    order = list(dict.fromkeys(edge[edge >= 0].tolist()))
    assert len(beats) > 90 and len(order) > 4
    for number, beat in enumerate(beats[:-1]):
        before, after = lit_edges(work, beat - NEAR - 1 / 60, beat + NEAR)
        assert after == {order[number % len(order)]}, (number, beat)
        assert before == ({order[(number - 1) % len(order)]} if number else set())


def test_at_a_constant_tempo_it_would_drift_away(recorded):
    """So that the test above could fail: the same show without its sound loses the beat."""
    folder, beats = recorded
    plain = EDGES.replace('sound = "song.flac"', 'length = "60 s"')
    work = load(written(folder, plain, "plain.toml"))
    edge = work.site.pixels.edge
    order = list(dict.fromkeys(edge[edge >= 0].tolist()))
    right = [
        lit_edges(work, beat + NEAR) == [{order[number % len(order)]}]
        for number, beat in enumerate(beats[:-1])
    ]
    assert np.mean(right) < 0.5


#: Labels edited by hand: a piece in three with a slow bar, after an upbeat.
LABELED = [0.4, 1.0, 1.5, 2.0, 2.5, 3.5, 4.5, 5.5, 6.0, 6.5]
PLACES = [3, 1, 2, 3, 1, 2, 3, 1, 2, 3]


@pytest.fixture
def edited(tmp_path):
    soundfile.write(tmp_path / "song.wav", np.full(8000 * 8, 0.1), 8000)
    lines = [f"{t}\t{t}\t{p}\n" for t, p in zip(LABELED, PLACES, strict=True)]
    (tmp_path / "song.beats.txt").write_text("".join(lines))
    shutil.copy(HOUSE, tmp_path)
    return tmp_path


def show(folder, cue="", top="", layer='effect = "still"'):
    head = '[show]\nhouse = "house.toml"\nsound = "song.wav"\nbar = 3\nfps = 50\n'
    return written(folder, f"{head}{top}\n[[cue]]\n{cue}\n[[cue.layer]]\n{layer}\n")


@pytest.mark.parametrize(
    ("cue", "start", "length"),
    [
        ('start = "beat 1"', 0.4, 7.6),
        ('start = "bar 1"', 1.0, 7.0),
        ('start = "bar 2"\nlength = "1 bar"', 2.5, 3.0),
        ('start = "bar 1 beat 3"\nlength = "2 beats"', 2.0, 1.5),
        ('start = "BAR 3 beat 2"', 6.0, 2.0),
        ('start = "4 beats"\nlength = "0.5 beats"', 2.5, 0.5),
        ('start = "2 s"\nlength = "3 beats"', 2.0, 2.5),
        ('start = "2.25 s"\nlength = "1 beat"', 2.25, 0.75),
        ('start = "1 beat 100 ms"\nlength = "1 beat 50 ms"', 1.1, 0.55),
        ('start = "9 beats"\nlength = "1 beat"', 6.5, 0.5),  # after the last: the usual length
        ("start = 3\nlength = 2", 3.0, 2.0),
    ],
)
def test_cues_begin_and_end_on_the_beats_as_labeled(edited, cue, start, length):
    (made,) = load_show(show(edited, cue)).cues
    assert made.start == pytest.approx(start, abs=1e-5)
    assert made.length == pytest.approx(length, abs=1e-5)


def test_fades_take_the_beats_where_they_are(edited):
    cue = 'start = "bar 1"\nlength = "5 beats"\nfade = "1 beat"'
    (made,) = load_show(show(edited, cue)).cues
    assert (made.fade_in, made.fade_out) == pytest.approx((0.5, 1.0), abs=1e-5)
    cue = 'start = "bar 1"\nlength = "5 beats"\nfade_in = "0.2 s"\nfade_out = "2 beats"'
    (made,) = load_show(show(edited, cue)).cues
    assert (made.fade_in, made.fade_out) == pytest.approx((0.2, 2.0), abs=1e-5)
    (made,) = load_show(show(edited, 'start = "bar 2"\nfade_in = "2 beats"')).cues
    assert made.fade_in == pytest.approx(2.0, abs=1e-5)
    (made,) = load_show(show(edited, 'fade_out = "2 beats"')).cues  # to the end of the show
    assert made.fade_out == pytest.approx(1.0, abs=1e-5)


def test_the_show_is_as_long_as_its_sound_or_to_a_beat(edited):
    made = load_show(show(edited))
    assert made.frames == 400 and made.sound == edited / "song.wav" and not made.notes
    assert load_show(show(edited, top='length = "6 beats"')).frames == 225
    assert load_show(show(edited, top="length = 3")).frames == 150


def test_a_ramp_counts_the_beats(edited):
    ramp = 'effect = "still"\nopacity = { at = ["0 beats", "4 beats", "5 beats"], to = [0, 1, 0] }'
    work = load(show(edited, 'start = "bar 1"', layer=ramp))
    (planned,) = work.plan.tiles[0].cues[0].layers
    moments = np.array([1.0, 1.5, 2.5, 3.0, 3.5, 4.5, 5.0, 5.5])[:, None]
    got = opacity(planned, planned.since(moments, 1.0))
    # 4 beats after the start is 3.5 s, the fifth 4.5 s; half-way from beat 3 to 4 is 3.0 s.
    assert got[:, 0] == pytest.approx([0, 0.25, 0.75, 0.875, 1, 0, 0, 0], abs=1e-5)


def test_an_envelope_counts_the_beats(edited):
    """At 3 s, three and a half of four beats have passed."""
    layer = 'effect = "still"\npalette = "white"\nenvelope = { to = [0, 1], over = "4 beats" }'
    work = load(show(edited, 'start = "bar 1"', layer=layer))
    part, full = (render_block(work.plan, f, f + 1).max() for f in (150, 225))
    assert part == pytest.approx(full * 3.5 / 4, rel=1e-4)


def test_what_moves_by_the_beat_goes_as_far_in_each(edited):
    layer = 'effect = "chase"\nspeed = "2 m/beat"\nway = "line"'
    work = load(show(edited, 'start = "bar 1"', layer=layer))
    (planned,) = work.plan.tiles[0].cues[0].layers
    moments = np.array(LABELED[1:])[:, None]
    gone = planned.options["speed"] * planned.since(moments, 1.0)[:, 0]
    assert gone == pytest.approx(2 * np.arange(9), abs=1e-5)


def test_a_layer_in_seconds_keeps_the_clock(edited):
    """Only what counts in beats breathes: the bytes are those of the show without its sound."""
    layer = 'effect = "chase"\nspeed = "2 m/s"'
    work = load(show(edited, "start = 1", "length = 8", layer))
    assert work.plan.tiles[0].cues[0].layers[0].layer.beats is None
    silent = load(show(edited, "start = 1", "length = 8\n", layer))
    text = silent.show.file.read_text().replace('sound = "song.wav"', "")
    plain = load(written(edited, text, "plain.toml"))
    assert (render_block(work.plan, 0, 400) == render_block(plain.plan, 0, 400)).all()


def test_a_block_cut_anywhere_is_the_same(recorded):
    work = load(written(recorded[0], EDGES))
    whole = render_block(work.plan, 100, 140)
    cut = [render_block(work.plan, a, b) for a, b in ((100, 113), (113, 114), (114, 140))]
    assert (np.concatenate(cut) == whole).all()


def test_the_clock_of_the_show_counts_from_the_first_beat(edited):
    layer = 'effect = "still"\nclock = "show"\ndelay = "2 beats"'
    work = load(show(edited, 'start = "bar 2"', layer=layer))
    (planned,) = work.plan.tiles[0].cues[0].layers
    own = planned.since(np.array([[1.5], [2.5], [4.5]]), 2.5)[:, 0] - planned.late
    assert own / planned.layer.beats.beat == pytest.approx([0, 2, 4], abs=1e-9)


def test_bars_and_beats_at_a_constant_tempo(tmp_path):
    shutil.copy(HOUSE, tmp_path)
    head = '[show]\nhouse = "house.toml"\ntempo = 120\nbar = 3\nlength = "8 bars"\n'
    text = (
        head
        + '[[cue]]\nstart = "bar 3 beat 2"\nlength = "2 bars"\n[[cue.layer]]\neffect = "still"\n'
    )
    made = load_show(written(tmp_path, text))
    assert made.length == 12 and made.cues[0].start == 3.5 and made.cues[0].length == 3.0
    assert made.cues[0].layers[0].beats is None


def test_composed_in_python(edited):
    made = lumenmap.compose(
        lumenmap.cue(lumenmap.layer("still", turns={"parts": 4, "every": "1 beat"}), start="bar 2"),
        length="9 beats",
        sound="song.wav",
        bar=3,
        folder=edited,
    )
    assert made.cues[0].start == pytest.approx(2.5) and made.frames == round(6.5 * 30)
    assert made.cues[0].layers[0].beats.times.tolist() == LABELED
    assert lumenmap.beats_of(edited / "song.wav").places.tolist() == PLACES
    assert _whole(edited).frames == 240


def _whole(folder):
    return lumenmap.compose(lumenmap.cue(lumenmap.layer("still")), sound="song.wav", folder=folder)


def test_an_evening_notices_that_beats_were_edited(edited):
    show(edited)
    before = signature(edited / "show.toml")
    assert signature(edited / "show.toml") == before
    (edited / "song.beats.txt").write_text("1\t1\t1\n2\t2\t2\n")
    assert signature(edited / "show.toml") != before


@pytest.mark.parametrize(
    ("cue", "top", "says"),
    [
        ('start = "bar 4"', "", r"cue 1, start: no bar 4; the beats found make 3 bars \(line 8\)"),
        ('start = "bar 0"', "", r"cue 1, start: bars and beats count from 1"),
        ('start = "bar"', "", r'cue 1, start: is "bar"; .*a cue may start at "bar 3" or "beat 17"'),
        ('start = "bar2"', "", r'cue 1, start: is "bar2"; .*a cue may start at "bar 3" or'),
        ('fade = "9 bars"', "", r"cue 1, fade: the fades take .*line 8"),
        ('fade_out = "19 bars"', "", r"cue 1, fade_out: the fades take .*line 8"),
        ('start = "soon"\nlength = "1 beat"', "", r'cue 1, start: time is "soon"'),
        ('length = "bar 2"', "", r'cue 1, length: is "bar 2"; expected a time such as "2 beats"'),
        (
            "",
            "tempo = 60",
            r"tempo: is 60, but the beats in song.beats.txt are 120 a minute. Delete",
        ),
        ("", "bar = 17", "bar"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(edited, cue, top, says):
    with pytest.raises(InputError, match=says):
        load_show(
            show(edited, cue, top, 'effect = "still"\nturns = { parts = 3, every = "1 beat" }')
        )


def test_a_sound_that_is_not_there_or_elsewhere(edited, tmp_path):
    (edited / "song.wav").unlink()
    with pytest.raises(
        InputError, match=r'show.sound: no file "song.wav" next to the show \(line 3'
    ):
        load_show(show(edited))
    (edited / "sogn.wav").write_bytes(b"")
    with pytest.raises(InputError, match=r'no file "song.wav" .*; did you mean "sogn.wav"'):
        load_show(show(edited))
    text = show(edited).read_text().replace("song.wav", "../song.wav")
    with pytest.raises(
        InputError, match=r'show.sound: is "../song.wav", outside the show\'s folder'
    ):
        load_show(written(edited, text))


def test_beats_that_are_a_link_to_elsewhere_are_not_read(edited, tmp_path_factory):
    other = tmp_path_factory.mktemp("other") / "private.txt"
    (edited / "song.beats.txt").rename(other)
    (edited / "song.beats.txt").symlink_to(other)
    with pytest.raises(
        InputError, match="song.beats.txt, is a link that leads outside the show's folder"
    ):
        load_show(show(edited, 'start = "bar 2"'))


def test_without_a_tempo_both_levels_are_offered(recorded, tmp_path):
    folder, _ = recorded
    for name in ("song.flac", "house.toml"):
        shutil.copy(folder / name, tmp_path)
    text = EDGES.replace("tempo = 100", "")
    says = r"show.tempo: say about how fast song.flac is: perhaps \d+ or \d+ beats a minute"
    with pytest.raises(InputError, match=says):
        load_show(written(tmp_path, text))
    with pytest.raises(InputError, match="show.tempo: is 25; expected 30 to 300 beats a minute"):
        load_show(written(tmp_path, EDGES.replace("tempo = 100", "tempo = 25")))
    assert not beats_file(tmp_path / "song.flac").exists()
    # A show that counts no beats needs none, only the sound.
    calm = text.replace('start = "beat 1"', "").replace("1 beat", "2 s")
    assert load_show(written(tmp_path, calm)).sound == tmp_path / "song.flac"
    assert not beats_file(tmp_path / "song.flac").exists()


def test_what_is_no_sound_is_said_where_the_show_is_read(edited):
    (edited / "song.beats.txt").unlink()
    (edited / "song.wav").write_text("no sound")
    with pytest.raises(InputError, match="song.wav: isn't sound; expected WAV, FLAC, Ogg or MP3"):
        load_show(show(edited, 'start = "bar 2"', "tempo = 120"))
    with pytest.raises(InputError, match="song.wav: isn't sound"):
        load_show(show(edited))


def test_a_folder_that_cannot_be_written_does_not_stop_the_show(
    recorded, tmp_path, monkeypatch, caplog
):
    for name in ("song.flac", "house.toml"):
        shutil.copy(recorded[0] / name, tmp_path)

    def refuse(path, content):
        raise InputError("can't be written: Read-only file system", file=path)

    monkeypatch.setattr(labels, "write_whole", refuse)
    assert load_show(written(tmp_path, EDGES)).cues[0].layers[0].beats is not None
    assert "the beats of song.flac couldn't be kept: can't be written: Read-only" in caplog.text


@pytest.mark.parametrize(
    ("text", "beats"),
    [
        ("8 beats", True),
        ("2 bars", True),
        ("0.5beats", True),
        ("8 ft/beat", True),
        ("1 /bar", True),
        ("1 / 2 beats", True),
        ("bar 3", True),
        ("1 beat 20 ms", True),
        ("bar  3  beat 2", True),
        ("8 s", False),
        ("8 beats" + " " * 1_000_000, False),
        (" " * 59 + "x", False),
        ("bar chart.png", False),
        ("3 bars.png", False),
        ("gold", False),
        ("", False),
    ],
)
def test_which_texts_count_in_beats(text, beats):
    assert counts({"option": ["x", {"y": text}]}) is beats
    assert counts({"on": [text], "name": text}) is False

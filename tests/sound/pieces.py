"""Made-up pieces: drums, a bass and chords from seeded noise and sines, with their beats known."""

from functools import lru_cache

import numpy as np

RATE = 22_050
_RNG = np.random.default_rng(5)


def _hit(seconds: float, fall: float) -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(int(seconds * RATE)) / RATE
    return t, np.exp(-t / fall)


@lru_cache(1)
def _kick():
    t, fall = _hit(0.25, 0.08)
    return np.sin(2 * np.pi * (50 * t + 8 * (1 - np.exp(-t / 0.03)))) * fall


def _snare():
    t, fall = _hit(0.2, 0.05)
    return (0.6 * _RNG.standard_normal(len(t)) + 0.4 * np.sin(2 * np.pi * 190 * t)) * fall


def _hat():
    t, fall = _hit(0.06, 0.015)
    return np.diff(_RNG.standard_normal(len(t) + 1)) * fall


@lru_cache(256)
def _note(pitch: float, seconds: float):
    t, fall = _hit(seconds, 0.6 * seconds)
    return (
        sum(np.sin(2 * np.pi * pitch * k * t) / k for k in (1, 2, 3))
        * fall
        * np.minimum(1, t / 0.01)
    )


def beats_at(tempo, seconds: float, start: float = 0.7) -> np.ndarray:
    """Times of beats at ``tempo(t)`` beats a minute."""
    times, t = [], start
    while t < seconds - 0.5:
        times.append(t)
        t += 60 / tempo(t)
    return np.array(times)


def piece(
    beats: np.ndarray,
    *,
    swing: float = 0.5,
    pause=None,
    loose: float = 0.004,
    drums=True,
    sparse=False,
):
    """Play four beats a bar; ``swing`` is where the quaver between beats falls, 0.5 is straight."""
    kept = beats if pause is None else beats[(beats < pause[0]) | (beats >= pause[1])]
    end = beats[-1] + 1.5
    out = np.zeros(int(end * RATE) + RATE)

    def put(sound, at, level):
        i = max(0, int((at + _RNG.normal(0, loose)) * RATE))
        out[i : i + len(sound)] += level * sound

    scale = [220, 247, 262, 294, 330, 349, 392]
    for number, at in enumerate(kept):
        step = (kept[number + 1] - at) if number + 1 < len(kept) else 0.5
        step = min(step, 1.2)
        first = number % 4 == 0
        if sparse:  # every other beat, and as many hits that lie anywhere
            if number % 2 == 0:
                put(_snare(), at, 0.5)
            put(_snare(), at + _RNG.uniform(0.15, 0.85) * step, 0.5)
        elif drums:
            put(_kick() if number % 2 == 0 else _snare(), at, 0.9 if first else 0.6)
            put(_hat(), at, 0.3)
            put(_hat(), at + swing * step, 0.25)
        put(_note(55 if first else 73, round(step * 0.9, 2)), at, 0.4 if first else 0.25)
        if first:
            for pitch in _RNG.choice(scale, 3, replace=False):
                put(_note(pitch, round(step * 3, 2)), at, 0.15)
        for _ in range(2):  # a tune that plays on beats and between them
            if _RNG.random() < 0.5:
                put(
                    _note(2 * _RNG.choice(scale), round(step / 2, 2)),
                    at + _RNG.choice([0, swing]) * step,
                    0.2,
                )
    out += 0.003 * _RNG.standard_normal(len(out)) * (1 if pause is None else 0)
    return (0.5 * out / np.abs(out).max()).astype(np.float32), kept

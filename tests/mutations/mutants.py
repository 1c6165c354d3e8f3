"""Small mistakes that the unit tests of their own stage must catch; see `tests.mutations`.

Each is (old text, new text) of a file, beside the folder of tests that is run on it. The old text
stands in its file once.
"""

from typing import NamedTuple


class Mutant(NamedTuple):
    """One mistake: in ``file``, ``old`` becomes ``new``; the tests in ``folder`` are run."""

    stage: str
    file: str
    old: str
    new: str
    folder: str


#: (stage, folder of tests, file of the package): its mistakes.
TABLE = {
    ("units", "core", "core/units.py"): [
        ("INCH = Fraction(127, 5000)", "INCH = Fraction(254, 9999)"),
        ('"yd": 36 * INCH', '"yd": 32 * INCH'),
        ("return sign * total", "return total"),
        (
            "return quantity(head, LENGTH, unit, what=what, like=like) / TIME",
            "return quantity(head, LENGTH, unit, what=what, like=like) * TIME",
        ),
        ("got = got / 100 if percent", "got = got / 10 if percent"),
        ('"turn": Fraction(360)', '"turn": Fraction(100)'),
    ],
    ("slopes", "core", "house/reading/slopes.py"): [
        ("return _steep(rise / run, text, what)", "return _steep(run / rise, text, what)"),
        ("if 0 <= got < 80:", "if 0 <= got <= 90:"),
    ],
    ("lengths", "core", "core/lengths.py"): [
        ("steps = round(abs(exact) * parts)", "steps = int(abs(exact) * parts)"),
    ],
    ("holes", "pixels", "pixels/holes.py"): [
        ("/ spacing) + 1)\n    bare", "/ spacing))\n    bare"),
        ("tail = min(lead, spacing - lead)", "tail = lead"),
        ("room = length - rail.clear_start - rail.clear_end", "room = length - rail.clear_start"),
        ('"both": bare / 2', '"both": bare'),
        ("return Holes(rail.clear_start + skipped + lead,", "return Holes(skipped + lead,"),
        ("round((room - lead - tail) / spacing) + 1)", "int((room - lead - tail) / spacing) + 1)"),
    ],
    ("line layout", "pixels", "pixels/line_layout.py"): [
        ("REACH = 0.305", "REACH = 1.0"),
        ("self.wire += jumper or gap", "self.wire += jumper"),
        ("self.wire + np.abs(along - enter)", "self.wire + along"),
        ("            along = along[::-1]\n", "            pass\n"),
        ("self.wire += high - low", "self.wire += high"),
        ("return (high, low) if run.reversed else (low, high)", "return (low, high)"),
        ("if number > self.count:", "if number > self.count + 1:"),
    ],
    ("limiter", "power", "power/limits/limit.py"): [
        ("TARGET = 0.9995", "TARGET = 1.002"),
        ("FULL = 1 - 1e-12", "FULL = 1 + 1e-3"),
        ("np.minimum(codes, ceiling, out=codes)\n        drawn", "drawn"),
        (
            "low, high = np.where(fits, middle, low), np.where(fits, high, middle)",
            "low, high = np.where(fits, low, middle), np.where(fits, middle, high)",
        ),
        ("CLOSE = 0.992", "CLOSE = 0.9"),
    ],
    ("limiter, planned", "power", "power/limits/limiter.py"): [
        ("return glide(gains, slew / self.fps)", "return glide(gains, slew * self.fps)"),
        ("[frames : 2 * frames])", "[:frames])"),
        ("gain = self.gains[first : first + len(light)]", "gain = self.gains[: len(light)]"),
        (
            "np.broadcast_to(gains.min(axis=0), gains.shape)",
            "np.broadcast_to(gains.mean(axis=0), gains.shape)",
        ),
        (
            "own = np.where(feeds, own * supply[:, s, None], own)",
            "own = np.where(feeds, supply[:, s, None], own)",
        ),
    ],
    ("parts", "power", "power/limits/parts.py"): [
        ("rounded = np.ceil(", "rounded = np.floor("),
    ],
    ("budgets", "power", "power/limits/budgets.py"): [
        ("parts.totals() * kind.idle_ma / 1000", "parts.totals() * 0.0"),
        (
            "            sums = each.astype(groups.dtype, copy=False) @ groups\n",
            "            sums = planes[first].astype(groups.dtype) @ groups\n",
        ),
        (
            "return 1 / np.maximum((demand - self.idle) * self._per_room, 1.0)",
            "return 1 / np.maximum(demand * self._per_room, 1.0)",
        ),
    ],
    ("quantiser", "codes", "codes/planes.py"): [
        ("FULL = np.float32(255)", "FULL = np.float32(256)"),
        ("or planes.min() < 0)", "or planes.min() < -1e9)"),
        ("planes.max() > FULL or", "planes.max() > 2 * FULL or"),
    ],
    ("dither", "codes", "codes/dither.py"): [
        ("+ np.arange(channels)[:, None] / channels) % 1", "+ np.zeros(channels)[:, None]) % 1"),
        ("np.arange(first, first + frames) % turns]", "np.arange(frames) % turns]"),
        ("np.arange(pixels) * _PIXEL_STEP", "np.arange(pixels) * 0.0"),
    ],
    ("channel order", "codes", "codes/order.py"): [
        (
            '["RGBW".index(letter) for letter in order]',
            '[order.index(letter) for letter in "RGBW" if letter in order]',
        ),
        ('canonical = "RGBW"[: codes.shape[2]]', "canonical = spans[0][1]"),
        (
            "wired[:, rows] = codes[:, rows]",
            "wired[:, rows] = codes[:, :][:, : codes[:, rows].shape[1]]",
        ),
    ],
    ("white", "codes", "codes/white.py"): [
        ("light[..., channel] / own[channel], out=level)", "light[..., channel] * 2, out=level)"),
        ("light[..., :3] + light[..., 3:]", "light[..., :3] - light[..., 3:]"),
    ],
    ("flashes", "codes", "codes/flashing.py"): [
        ("self.window = math.ceil(fps - 1e-9)", "self.window = math.ceil(fps / 2)"),
        (
            "for i in np.flatnonzero(count > MAX_TRANSITIONS):",
            "for i in np.flatnonzero(count > MAX_TRANSITIONS + 1):",
        ),
    ],
    ("blend", "frames", "frames/blend.py"): [
        (
            "np.where(s <= 0.5, b * (2 * s), _screen(b, 2 * s - 1))",
            "np.where(s <= 0.5, b * s, _screen(b, 2 * s - 1))",
        ),
        ("_hard_light(s.copy(), b.copy())", "_hard_light(b.copy(), s.copy())"),
        ("low = b - (1 - 2 * s) * b * (1 - b)", "low = b - (1 - 2 * s) * b"),
        ('"darken": lambda b, s: np.minimum', '"darken": lambda b, s: np.maximum'),
        ("b + s - 2 * b * s", "b + s - b * s"),
        ("scale(mixed, opacity)", "scale(mixed, 1 - opacity)"),
    ],
    ("cues", "frames", "frames/fades.py"): [
        ("(left > 1e-9)", "(left >= -1e-9)"),
        ("(since >= -1e-9)", "(since > 1e-9)"),
        ("_share(since, cue.fade_in)", "_share(since, cue.fade_out)"),
        ("1 - cue.easing(1 - _share(", "cue.easing(_share("),
        ("luminance(part) if cue.even", "part if cue.even"),
        ("left >= fade_out and", "left >= 0 and"),
        ("known = cue.easing is linear or", "known = True or"),
    ],
    ("ramps", "motion", "motion/ramp.py"): [
        ("since = since % self.at[-1]", "since = since % (self.at[-1] + 1)"),
        ("(np.arange(_STEPS) + 0.5)", "np.arange(_STEPS)"),
        ("rounds * sums[-1] + ", ""),
        ("last * np.maximum", "0 * np.maximum"),
    ],
    ("courses", "motion", "motion/varying.py"): [
        ("speed.pace * _gained", "_gained"),
        (" - course.ramp.gained(start, inverse)", ""),
        ("t / value.pace + value.late", "t / value.pace"),
    ],
    ("turns", "frames", "frames/turns.py"): [
        ("np.floor(count + _EARLY)\n        level", "np.floor(count)\n        level"),
        ("range(count - number, count)", "range(number)"),
        (
            "steps = [range(i, i + 1) for i in range(count)]",
            "steps = [range(i, i + 2) for i in range(count)]",
        ),
        ('turns.then == "dark"', 'turns.then == "held"'),
        ("(1 - gap) / 2", "1 - gap"),
        ("chance.key(self.seed, number, order)", "chance.key(self.seed, order)"),
    ],
    ("questions", "frames", "frames/course.py"): [
        ("(since - late) * pace if", "since * pace - late if"),
        ("planned.late + last", "last"),
    ],
    ("questions", "motion", "motion/ramp.py"): [
        ("stepped = least + share**2 * (most - least)", "stepped = least + 0 * share"),
    ],
    ("rendering", "frames", "frames/render.py"): [
        ("        total[:, plan.dark] = 0\n", "        pass\n"),
        ("part = (1 + before / show.cross)", "part = (-before / show.cross)"),
        ("layer.envelope(planned.since(cued, begin))", "layer.envelope(cued)"),
        ("since = planned.since(t, begin)", "since = t"),
    ],
    ("beats", "motion", "motion/beats.py"): [
        ("outside / self.beat", "outside"),
        ("np.median", "np.mean"),
        ("begins[number - 1]", "begins[number - 2]"),
    ],
    ("piece", "sound", "sound/piece.py"): [
        ("+ way * beats", "+ beats"),
        ("ahead = (beat or 1) - 1", "ahead = beat or 1"),
        ("is None or begin is None", "is None"),
        ('(made, ("length", "fade_in"), begin)', '(made, ("length",), begin)'),
        ("_APART = 0.2", "_APART = 2"),
    ],
    ("planning", "frames", "frames/plan.py"): [
        (
            '_shown(layer, cue) if layer.clock == "show"',
            '_shown(layer, cue) if layer.clock != "show"',
        ),
        ("mask = mask & (along >= low) & (along <= high)", "mask = mask & (along >= low)"),
        ("slice(int(rows[0]), int(rows[-1]) + 1)", "slice(int(rows[0]), int(rows[-1]))"),
        ("line_length=lengths[pixelmap.line]", "line_length=lengths[np.zeros_like(pixelmap.line)]"),
    ],
    ("packets", "controller", "controller/e131/packets.py"): [
        ("_length(110 + n)", "_length(109 + n)"),
        ("TERMINATED = 0x40", "TERMINATED = 0x20"),
        ("0, 1, n + 1)", "0, 1, n)"),
        ("page, len(pages) - 1)", "page, len(pages))"),
        ("{universe >> 8}.{universe & 255}", "{universe & 255}.{universe >> 8}"),
    ],
    ("universes", "pixels", "pixels/universes.py"): [
        ("count = min(per, line.count - i * per)", "count = per"),
        (
            "line.universe + needed - 1 > HIGHEST_UNIVERSE",
            "line.universe + needed > HIGHEST_UNIVERSE",
        ),
        ("line.first + i * per, count", "i * per, count"),
    ],
    ("packet blocks", "controller", "controller/e131/blocks.py"): [
        ("(self._next + self._before[:-1]) %", "(self._next + self._before[1:]) %"),
        ("(self._sent < UNCHANGED_PACKETS)", "(self._sent <= UNCHANGED_PACKETS)"),
        ("frames = dimmed(frames, self._brightness", "frames = dimmed(frames, 1.0"),
        ("KEEP_ALIVE_SECONDS = 0.9", "KEEP_ALIVE_SECONDS = 1.1"),
    ],
    ("days", "almanac", "almanac/days.py"): [
        ("range((last - first) % 7 + 1)", "range((last - first) % 7)"),
        ('1 if m[2] == "+" else -1', '-1 if m[2] == "+" else 1'),
        ("days[n - 1 : n] if n > 0 else days[-1:]", "days[n : n + 1] if n > 0 else days[-1:]"),
        ("(at >= low or at <= high) if across", "(at >= low and at <= high) if across"),
        ("around = {day for y in (year - 1, year, year + 1)", "around = {day for y in (year,)"),
        ("lambda year: _weekdays(year, (5, 6))", "lambda year: _weekdays(year, (4, 5))"),
        ("(2, 28) if e == (2, 29) and not leap", "(3, 1) if e == (2, 29) and not leap"),
    ],
    ("feasts", "almanac", "almanac/feasts.py"): [
        ("g = (8 * b + 13) // 25", "g = (8 * b + 14) // 25"),
        ("timedelta(days=13)", "timedelta(days=12)"),
        ("range(-1, 7)", "range(8)"),
    ],
    ("times", "almanac", "almanac/times.py"): [
        ("offset = -offset if sign", "offset = offset if sign"),
        ("stop.wall(day) <= start.wall(day)", "stop.wall(day) > start.wall(day)"),
        ("hour % 12 + (12 if", "hour + (12 if"),
    ],
    ("network", "power/circuit", "power/circuit/network.py"): [
        ("np.subtract.at(total.T, self.plus, amps.T)", "np.add.at(total.T, self.plus, amps.T)"),
        (
            "volts[:, self.plus] - volts[:, self.minus] + self.load_offset_volts",
            "volts[:, self.plus] - volts[:, self.minus] - self.load_offset_volts",
        ),
        ("links.get(pair, 0.0) + g", "g"),
    ],
    ("shares", "power/circuit", "power/circuit/shares.py"): [
        ("(minus - plus) * siemens[:, None]", "(minus - plus) / siemens[:, None]"),
        ("FAINT = 1e-9", "FAINT = 1e-2"),
        ("on_plus | on_minus", "on_plus & on_minus"),
        ("ends.max(axis=0) - ends.min(axis=0)", "ends[1] - ends[0]"),
        ("Share(loads[order], amount[order])", "Share(loads[order], amount)"),
    ],
    ("elimination", "power/circuit", "power/circuit/elimination.py"): [
        ("conductance[link] += own[x] * part[y]", "conductance[link] += own[x] * own[y]"),
        ("inflow[j] += p * own", "inflow[j] -= p * own"),
    ],
    ("wiring", "power/circuit", "power/circuit/leads.py"): [
        ("ohms = strands.ohms(size, feed.length)", "ohms = strands.ohms(size, 0.0)"),
    ],
    ("wiring", "power/circuit", "power/circuit/strands.py"): [
        ("if lead.connector else 0.0", "if not lead.connector else 0.0"),
        ("if fuse is not None else 0.0", "if fuse is None else 0.0"),
        ("size.ohms(metres, self.house.wire_defaults.celsius)", "size.ohms(metres)"),
    ],
    ("wiring", "power/circuit", "power/circuit/assembly.py"): [
        ('if polarity == "positive" and any(here < cut <= there for cut in cuts):', "if False:"),
        ("cuts.append(_advised(places, (low, high)))", "cuts.append(low)"),
    ],
    ("palette", "colour", "colour/running.py"): [
        ("turns += np.uint32(2**31 // entries)", "turns += np.uint32(0)"),
    ],
    ("reduction", "power/circuit", "power/circuit/reduction.py"): [
        (
            "at_junctions[self._index[chain.end]] += joined[:, -1] - part",
            "at_junctions[self._index[chain.end]] += joined[:, -1]",
        ),
        ("self._index[c.end], 1 / c.total_ohms)", "self._index[c.end], c.total_ohms)"),
        ("own[stretch][row, self._places[node]] += amps", "own[stretch][row, 0] += amps"),
        ("[c.start if c.end is None else c.end]", "[c.start]"),
    ],
    ("palette", "colour", "colour/palette.py"): [
        ("u = np.arange(K) / (K if palette.cyclic else K - 1)", "u = np.arange(K) / K"),
        ('"shorter": step > 180', '"shorter": step > 90'),
        ('"longer": 0 < step < 180', '"longer": 0 < step < 90'),
        (
            "places = np.concatenate([places, [places[0] + 1]])",
            "places = np.concatenate([places, [1]])",
        ),
        (
            'np.searchsorted(places, u + 1e-12, side="right") - 1',
            'np.searchsorted(places, u + 1e-12, side="right")',
        ),
    ],
    ("oklab", "colour", "colour/oklab.py"): [
        ("np.arctan2(v[..., 2], v[..., 1])", "np.arctan2(v[..., 1], v[..., 2])"),
        ("times(_FROM_LAB, lab) ** 3", "times(_FROM_LAB, lab) ** 2"),
    ],
    ("transfer", "colour", "colour/transfer.py"): [
        ("a <= 0.04045, v / 12.92", "a <= 0.4045, v / 12.92"),
        ("a ** (1 / 2.4)", "a ** (1 / 2.2)"),
    ],
    ("stops", "colour", "colour/stops.py"): [
        ("known[n] = 1.0", "known[n - 1] = 1.0"),
    ],
    ("roofs", "house", "house/masses/roofs.py"): [
        ("shape.corner(name, x, y, shape.height(x, y))", "shape.corner(name, x, y, mass.eave)"),
        ("half = min(w, d) / 2", "half = max(w, d) / 2"),
        ("out = -half if end == mass.hip_end else o.of(end)", "out = o.of(end)"),
    ],
    ("outlines", "house", "house/hull/lines.py"): [
        ("a + way * min(low, length)", "a + way / min(low, length)"),
    ],
    ("questions", "frames", "frames/evaluate.py"): [
        ("pieces[0] if len(pieces) == 1", "pieces[0] if len(pieces) != 1"),
    ],
    ("faults", "power/feeding", "power/feeding/faults.py"): [
        ("for k in (before - 1, before)", "for k in (before + 1, before)"),
    ],
}

MUTANTS = [
    Mutant(stage, f"lumenmap/{file}", old, new, f"tests/{folder}")
    for (stage, folder, file), pairs in TABLE.items()
    for old, new in pairs
]

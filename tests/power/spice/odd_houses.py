"""Houses with what `random_houses` seldom or never draws; all invented.

Parts with everything left out that may be, places at connectors and among hidden pixels, cuts of
every form, supplies too low or wires too thin, tails longer than the holes are apart.
"""

from __future__ import annotations

import numpy as np

WIRES = ("22 AWG", "20 AWG", "18 AWG", "1 mm2", "0.5 mm2")
KINDS = {
    "ws2811-12v": (12.0, 9.6),
    "ws2811-5v": (5.0, 4.5),
    "sk6812": (5.0, 4.5),
    "sk6812-rgbw": (5.0, 4.5),
}


def odd_house(seed: int) -> str:
    """Return a house file of two or three lines, each fed in a way of its own."""
    return _Odd(np.random.default_rng(seed)).text()


class _Odd:
    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.size = int(rng.integers(8, 20))
        self.rows: list[str] = []

    def chance(self, text: str, share: float = 0.5) -> str:
        return text + "\n" if self.rng.random() < share else ""

    def text(self) -> str:
        rng = self.rng
        kind = str(rng.choice(list(KINDS)))
        volts, least = KINDS[kind]
        wire = str(rng.choice(WIRES))
        low = volts * rng.uniform(0.45, 1.0)
        two = rng.random() < 0.6
        ways = [self.cut_by_file, self.cut_by_us] if two else [self.nothing, self.left_out]
        ways += [self.trunk, self.hidden, self.plain]
        if rng.random() < 0.1:
            ways = [self.plain, self.plain]
        order = rng.permutation(len(ways))[: int(rng.integers(2, 4))]
        for k, way in enumerate(order):
            ways[int(way)](f"line {k + 1}", k)
        # Without pixels there are no connectors but start and end; then no place names another.
        named = any('"connector ' in row for row in self.rows)
        string = f"[string]\npixels = {self.size}\n" if named else "[string]\n"
        string += self.chance(f'wire = "{wire}"')
        string += self.chance(f'spacing = "{rng.uniform(50, 150):.0f} mm"')
        string += self.chance(f'tail = "{rng.uniform(0, 400):.0f} mm"')
        string += self.chance(f"connector_milliohms = {rng.uniform(0, 60):.1f}")
        wiring = f"[wiring]\ncontact_milliohms = {rng.uniform(0, 50):.1f}\n"
        if "wire" not in string:
            wiring += self.chance(f'string = "{wire}"')
        wiring += self.chance(f"celsius = {rng.uniform(-20, 75):.0f}")
        names = ["one", "two"][: 1 + two]
        supplies = "".join(
            f'[[supply]]\nname = "{n}"\nvolts = {low * (1 + 0.02 * k):.3f}\namps = 40\n'
            for k, n in enumerate(names)
        )
        moved = self.chance(f"min_volts = {least - rng.uniform(0, 0.6):.2f}")
        head = '[house]\nname = "Odd"\nunit = "m"\n[rail]\nhole_spacing = "50 mm"\n'
        head += f'[pixel]\nkind = "{kind}"\n' + moved
        return head + string + wiring + supplies + "".join(self.rows)

    def line(self, name: str, k: int, strings: float, extra: str = "") -> int:
        """Add a line of so many strings, and hidden pixels in its middle; return their number."""
        rng = self.rng
        hidden = int(rng.integers(2, 6))
        half = max(2, int(strings * self.size - hidden) // 2)
        long = 0.05 * half
        for part, low in enumerate((0.0, long)):
            self.rows.append(
                f'[[edge]]\nname = "{name} {part}"\n'
                f"points = [[{low:.2f}, {k}, 3], [{low + long:.2f}, {k}, 3]]\n"
            )
        self.rows.append(
            f'[[line]]\nname = "{name}"\n{extra}'
            + self.chance("dead = [2, 7]", 0.3)
            + f'path = ["{name} 0", {{ spares = {hidden} }}, "{name} 1"]\n'
        )
        return 2 * half + hidden

    def nothing(self, name: str, k: int) -> None:
        """Neither feed nor tap; perhaps a bus with nothing said."""
        self.line(name, k, 3)
        self.rows.append(self.chance(f'[[bus]]\nname = "bus {k}"\nalong = "{name}"'))

    def left_out(self, name: str, k: int) -> None:
        """A feed of which nothing is said, and a bus from connector to connector."""
        self.line(name, k, 3.5)
        self.rows.append(f'[[feed]]\nname = "feed {k}"\nsupply = "one"\nto = "{name}"\n')
        self.rows.append(
            f'[[bus]]\nname = "bus {k}"\nalong = "{name}"\nstart = "connector 2"\n'
            + f'stop = "{self.rng.choice(["connector 3", "end", "middle"])}"\n'
            + self.chance(f'tie_every = "{self.rng.uniform(0.1, 0.6):.3f} m"')
            + self.chance("tie_fuse = 3")
        )

    def plain(self, name: str, k: int) -> None:
        """Feeds and a bus at the start, the middle and the end, which every line has."""
        self.line(name, k, 2)
        for at in self.rng.permutation(["start", "middle", "end"])[:2]:
            self.feed(name, k, "one", str(at))
        self.rows.append(self.chance(f'[[bus]]\nname = "bus {k}"\nalong = "{name}"'))

    def cut_by_file(self, name: str, k: int) -> None:
        """Two supplies with a cut of any form between them, each supply at connectors."""
        at = self.size + 4
        length = f"{0.05 * self.size:.3f} m"
        cut = self.rng.choice(["connector 2", f"after pixel {self.size}", length, "middle"])
        self.line(name, k, 3.2, f'cuts = ["{cut}"]\n')
        second = "end" if cut == "middle" else str(self.rng.choice(["connector 3", f"pixel {at}"]))
        self.feed(name, k, "one", "start")
        self.feed(name, k, "two", second)
        if self.rng.random() < 0.5 and cut != "middle":
            self.feed(name, k, "two", "end")

    def cut_by_us(self, name: str, k: int) -> None:
        """Two supplies in turn and no cut in the file, or too few."""
        cut = f'cuts = ["after pixel {self.size + 2}"]\n' if self.rng.random() < 0.5 else ""
        self.line(name, k, 3.2, cut)
        # Never just as far from a pixel to either side: rounding would decide.
        ends = (("one", "pixel 2"), ("two", "connector 2"), ("one", f"pixel {2 * self.size + 3}"))
        for supply, at in ends:
            self.feed(name, k, supply, at)

    def feed(self, name: str, k: int, supply: str, at: str) -> None:
        self.rows.append(
            f'[[feed]]\nname = "feed {k} {len(self.rows)}"\nsupply = "{supply}"\nto = "{name}"\n'
            f'at = "{at}"\n'
            + self.chance(f"length = {self.rng.uniform(0, 20):.2f}")
            + self.chance("fuse = 5")
        )

    def trunk(self, name: str, k: int) -> None:
        """A short trunk with taps beyond both its ends, one without a place; a bus with ties."""
        self.line(name, k, 4)
        ends = ["connector 2", "connector 4"]
        start, stop = ends if self.rng.random() < 0.5 else ends[::-1]
        self.rows.append(
            f'[[trunk]]\nname = "trunk {k}"\nsupply = "one"\nalong = "{name}"\n'
            f'start = "{start}"\nstop = "{stop}"\n' + self.chance("fuse = 15")
        )
        for at in self.rng.permutation(["", "start", "end", "connector 3", "middle"])[:3]:
            self.rows.append(
                f'[[tap]]\nname = "tap {k} {len(self.rows)}"\ntrunk = "trunk {k}"\n'
                + (f'at = "{at}"\n' if at else "")
                # As long as from the end of the trunk, at least.
                + self.chance(f"length = {self.rng.uniform(1.2, 3):.2f}", at in ("start", "end"))
                + self.chance("fuse = 3")
            )
        if self.rng.random() < 0.5:
            ties = '"connector 3", "start", "connector 2"'
            self.rows.append(
                f'[[bus]]\nname = "bus {k}"\nalong = "{name}"\nties = [{ties}]\n'
                + self.chance("tie_fuse = 3")
            )

    def hidden(self, name: str, k: int) -> None:
        """Feeds at each of the hidden pixels, at their length, and where strings meet there."""
        count = self.line(name, k, 2)
        middle = f"{0.05 * ((count - 2) // 2):.3f} m"
        for at in [*self.rng.permutation([middle, "connector 2", f"pixel {self.size}"])][:2]:
            self.feed(name, k, "one", str(at))

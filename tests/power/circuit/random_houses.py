"""House files drawn at random, with every part that a wiring may have; all invented.

The wiring makes sense: every pixel is fed, cuts lie between supplies, nothing joins two of them.
"""

from __future__ import annotations

import numpy as np

KINDS = ("ws2811-5v", "ws2811-12v", "ws2812b", "sk6812-rgbw", "ws2812b-v5")
THIN = ("20 AWG", "18 AWG stranded", "18 AWG", "16 AWG stranded", "0.75 mm2", "1.5 mm2")
THICK = ("14 AWG", "14 AWG stranded", "12 AWG stranded", "10 AWG stranded", "2.5 mm2")


def random_house(seed: int) -> str:
    """Return a house file of one to three lines, from one or two supplies."""
    rng = np.random.default_rng(seed)
    draw = _Drawing(rng)
    return draw.text()


class _Drawing:
    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.kind = str(rng.choice(KINDS))
        self.volts = 12.0 if "12v" in self.kind else 5.0
        self.supplies = ["one", "two"][: int(rng.integers(1, 3))]
        self.strings = rng.random() < 0.8
        self.size = int(rng.integers(5, 40))
        self.rows: list[str] = []
        self.edges: list[str] = []

    def one(self, options: tuple[str, ...]) -> str:
        return str(self.rng.choice(options))

    def maybe(self, key: str, value: object, chance: float = 0.5) -> str:
        return f"{key} = {value}\n" if self.rng.random() < chance else ""

    def metres(self, low: float, high: float) -> str:
        return f'"{self.rng.uniform(low, high):.3f} m"'

    def text(self) -> str:
        rng = self.rng
        for k in range(int(rng.integers(1, 4))):
            self.line(f"line {k + 1}", k)
        string = ""
        if self.strings:
            string = f"[string]\npixels = {self.size}\n"
            string += self.maybe("spacing", f'"{rng.uniform(60, 130):.0f} mm"', 0.7)
            string += self.maybe("wire", f'"{self.one(THIN)}"', 0.7)
            string += self.maybe("tail", self.metres(0, 0.3))
            string += self.maybe("connector_milliohms", f"{rng.uniform(0, 40):.1f}")
            string += self.maybe("connector_amps", f"{rng.uniform(2, 6):.1f}")
        wiring = "[wiring]\n" + self.maybe("contact_milliohms", f"{rng.uniform(0, 30):.1f}", 0.7)
        wiring += self.maybe("ambient", f'"{rng.uniform(-10, 55):.0f} C"')
        wiring += self.maybe("celsius", f"{rng.uniform(-20, 75):.0f}.0", 0.3)
        supplies = "".join(
            f'[[supply]]\nname = "{name}"\nvolts = {self.volts + rng.uniform(-0.2, 0.2):.2f}\n'
            + (f"label_amps = {rng.uniform(10, 80):.1f}\n" if rng.random() < 0.5 else "amps = 40\n")
            for name in self.supplies
        )
        return (
            '[house]\nname = "Drawn"\nunit = "m"\n[rail]\nhole_spacing = "60 mm"\n'
            f'[pixel]\nkind = "{self.kind}"\n'
            + string
            + wiring
            + supplies
            + "".join(self.edges)
            + "".join(self.rows)
        )

    def line(self, name: str, k: int) -> None:
        """Add an edge of some pixels, a line over it, and what feeds the line."""
        rng = self.rng
        count = int(rng.integers(20, 130))
        long = 0.06 * count
        edge = f"edge {k + 1}"
        split = rng.random() < 0.4
        half = round(long / 2, 2)
        self.edges.append(
            f'[[edge]]\nname = "{edge}"\npoints = [[0, {k}, 3], [{half}, {k}, 3]]\n'
            f'[[edge]]\nname = "{edge} b"\n'
            f"points = [[{half + (1 if split else 0)}, {k}, 3], [{long + 1:.2f}, {k}, 3]]\n"
        )
        path = [f'"{edge}"', f'"{edge} b"']
        if split:
            path.insert(1, f"{{ jumper = {self.metres(1, 2)} }}")
        if rng.random() < 0.4:
            path.append(f"{{ spares = {int(rng.integers(1, 6))} }}")
        two = len(self.supplies) > 1 and rng.random() < 0.6
        cut = int(rng.integers(5, 15)) if two else 0
        self.rows.append(f'[[line]]\nname = "{name}"\npath = [{", ".join(path)}]\n')
        own = str(rng.choice(self.supplies))
        if two:
            # The first pixels hang on one supply at the start, all others on the other's.
            own, other = self.supplies if rng.random() < 0.5 else self.supplies[::-1]
            if rng.random() < 0.8:
                self.rows.append(f'cuts = ["after pixel {cut}"]\n')
            self.feed(name, other, "start" if rng.random() < 0.5 else "pixel 2")
        places = self.places(cut)
        ways = [str(w) for w in rng.choice(["feed", "trunk", "bus"], int(rng.integers(1, 4)))]
        if "trunk" not in ways:
            ways.append("feed")
        for n, way in enumerate(dict.fromkeys(ways)):
            if way == "feed":
                for at in places[: int(rng.integers(1, 3))]:
                    self.feed(name, own, at)
            elif way == "trunk":
                self.trunk(f"trunk {k}{n}", name, own, places, cut)
            elif not two:
                self.bus(name, places)

    def places(self, cut: int) -> list[str]:
        """Places well after the cut, no two alike, in any order."""
        low = max(17, cut + 2)
        found = ["end", "middle" if not cut else f"pixel {low}", f"pixel {low + 2}"]
        found.append(f"{self.rng.uniform(1.21, 1.3):.4f} m")
        if self.strings and self.size <= 18:
            found.append("connector 2" if self.size >= low else f"pixel {low + 1}")
        return [str(p) for p in self.rng.permutation(found)]

    def feed(self, line: str, supply: str, at: str) -> None:
        self.rows.append(
            f'[[feed]]\nsupply = "{supply}"\nto = "{line}"\nat = "{at}"\n'
            f'name = "feed {len(self.rows)}"\nwire = "{self.one(THICK)}"\n'
            f"length = {self.metres(0, 12)}\n" + self.maybe("fuse", 5, 0.8)
        )

    def trunk(self, name: str, line: str, supply: str, places: list[str], cut: int) -> None:
        start, stop = (
            ("end", f"pixel {cut + 2}") if self.rng.random() < 0.5 else (f"pixel {cut + 2}", "end")
        )
        self.rows.append(
            f'[[trunk]]\nname = "{name}"\nsupply = "{supply}"\nalong = "{line}"\n'
            f'start = "{start}"\nstop = "{stop}"\nwire = "{self.one(THICK)}"\n'
            f"length = {self.metres(0, 9)}\n" + self.maybe("fuse", 15, 0.8)
        )
        for at in places[: int(self.rng.integers(1, 4))]:
            self.rows.append(
                f'[[tap]]\ntrunk = "{name}"\nat = "{at}"\nname = "tap {len(self.rows)}"\n'
                f'wire = "{self.one(THIN)}"\nlength = {self.metres(0, 1)}\n'
                + self.maybe("fuse", 3, 0.7)
            )

    def bus(self, line: str, places: list[str]) -> None:
        ties = ", ".join(f'"{p}"' for p in places[:3])
        given = self.rng.random() < 0.5
        self.rows.append(
            f'[[bus]]\nalong = "{line}"\nname = "bus {len(self.rows)}"\nwire = "{self.one(THICK)}"\n'
            + (f"ties = [{ties}]\n" if given else f"tie_every = {self.metres(0.4, 3)}\n")
            + self.maybe("tie_fuse", 3)
        )

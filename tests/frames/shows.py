"""An invented house whose front line runs its far rake backwards, and shows on it.

Its supply is too small for the fullest show, so that the limiter has something to do.
"""

import hashlib

HOUSE = """
[house]
name = "Invented Lodge"
unit = "ft"
[[mass]]
name = "main"
roof = "gable"
width = 24
depth = 30
eave = 9
slope = "8/12"
[[edge]]
name = "porch"
points = [[-4, -6, 8.5], [14, -6, 8.5]]
[rail]
length = "8 ft"
hole_spacing = "2 in"
[pixel]
kind = "ws2811-12v"
[[line]]
name = "front"
path = ["main/rake-left", { jumper = "16 ft" }, "main/rake-right reversed", { jumper = "20 ft" }, "porch reversed"]
universe = 1
[[line]]
name = "back"
path = ["main/eave-left"]
universe = 20
[[supply]]
name = "garage"
volts = 12
amps = 5
[[feed]]
supply = "garage"
to = "front"
at = "start"
wire = "12 AWG"
length = "4 ft"
fuse = 20
[[feed]]
supply = "garage"
to = "back"
at = "start"
wire = "12 AWG"
length = "4 ft"
fuse = 20
"""

FULL = """
[show]
house = "house.toml"
unit = "ft"
fps = 30
length = "6 s"
seed = 7
tempo = 120
cross = "1 s"
[[cue]]
length = "4 s"
fade = "1 s"
easing = "ease-in-out"
[[cue.layer]]
effect = "chase"
palette = "frost"
speed = "4 ft/beat"
[[cue.layer]]
effect = "glint"
blend = "screen"
rate = "1 /s"
within = { up = ["9 ft", "30 ft"] }
[[cue]]
start = "3 s"
fade_in = "1 s"
[[cue.layer]]
effect = "hearth"
palette = "ember"
on = ["main/*"]
delay = "1 beat"
pace = -1.5
envelope = { at = ["0 s", "1 s", "3 beats"], level = [1, 0.2, 1], easing = "ease", repeat = true }
opacity = 0.8
[[cue.layer]]
effect = "rings"
start = "main/peak-front"
blend = "plus-lighter"
"""


def one(effect: str, seconds: float = 6, **options) -> str:
    """A show of one effect; options as TOML values."""
    lines = [f"{name} = {value}" for name, value in options.items()]
    return "\n".join(
        [
            '[show]\nhouse = "house.toml"\nunit = "ft"\nfps = 40',
            f'length = "{seconds} s"',
            '[palette.one]\nstops = ["white"]',
            "[[cue]]\n[[cue.layer]]",
            f'effect = "{effect}"',
            'palette = "one"' if "palette" not in options else "",
            *lines,
        ]
    )


def digest(blocks) -> str:
    """SHA-256 of the codes that the limiter gave, block by block."""
    found = hashlib.sha256()
    for limited in blocks:
        found.update(limited.codes.tobytes())
    return found.hexdigest()

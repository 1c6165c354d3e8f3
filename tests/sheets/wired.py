"""An invented house with every kind of wire: feeds, a trunk with taps, a bus with ties, a cut.

Two straight edges, so that every length can be added up by hand: 20 ft and 40 ft.
"""

import csv
import io

from lumenmap.drawing.canvas import TextLine

#: The room of a diagram (mm), and what is said of the house's cut.
ROOM = (186.0, 222.0)
ORDER = "cut the plus wire between pixels 80 and 81; leave minus and data"

WIRED = """
[house]
name = "Hazel Barn"
unit = "ft"

[[edge]]
name = "low"
kind = "eave"
points = [[0, 0, 8], [20, 0, 8]]

[[edge]]
name = "long"
kind = "eave"
points = [[0, 0, 12], [40, 0, 12]]

[rail]
length = "10 ft"
hole_spacing = "3 in"

[pixel]
kind = "ws2811-12v"

[string]
pixels = 50
spacing = "4 in"
wire = "18 AWG stranded"
tail = "6 in"
connector_milliohms = 10

[[line]]
name = "below"
path = ["low"]
lead = "6 ft"

[[line]]
name = "above"
path = [{ spares = 1 }, "long"]
lead = "30 ft"
cuts = ["after pixel 80"]

[[supply]]
name = "workshop"
volts = 12
amps = 20

[[supply]]
name = "garage"
volts = 12
amps = 8

[[feed]]
supply = "workshop"
to = "below"
at = "start"
wire = "14 AWG stranded"
length = "5 ft"
fuse = 4

[[trunk]]
name = "main run"
supply = "workshop"
along = "above"
start = "start"
stop = "15 ft"
wire = "12 AWG stranded"
length = "12 ft"
fuse = 10

[[tap]]
trunk = "main run"
at = "start"
wire = "18 AWG stranded"
length = "1 ft"
fuse = 3

[[tap]]
trunk = "main run"
at = "connector 2"
wire = "18 AWG stranded"
length = "1 ft"
fuse = 3

[[feed]]
supply = "garage"
to = "above"
at = "end"
wire = "14 AWG stranded"
length = "9 ft"
fuse = 5

[[bus]]
along = "below"
wire = "14 AWG stranded"
ties = ["start", "connector 2", "end"]
tie_fuse = 4

[wiring]
accept = [
  { finding = "fuse-too-large", of = "garage to above end", reason = "Invented for the tests." },
]
"""


def rows(folder, name):
    return list(csv.DictReader(io.StringIO((folder / f"{name}.csv").read_text())))


def words(page):
    return [m.text for m in page.marks if isinstance(m, TextLine)]

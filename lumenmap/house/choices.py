"""Types for what may be chosen in a house file, so that a misspelling doesn't type-check."""

from __future__ import annotations

from typing import Literal

Unit = Literal["m", "cm", "mm", "ft", "in"]
#: How what is said of a strange length ends.
RIGHT_UNIT = "is that the right unit?"
Facing = Literal["front", "right", "back", "left", "up", "down"]
#: What to do with the part of an edge that isn't a whole number of hole spacings.
Remainder = Literal["both", "start", "end", "spread", "trim"]
DrillUnit = Literal["in", "mm"]
#: The marks on a tape measure.
Tape = Literal["1/8 in", "1/16 in", "1/32 in", "1/64 in", "1/100 in", "1 mm", "1/2 mm"]
#: Dangers of the wiring that a house file may accept with a reason. The others leave nothing that
#: could be calculated.
Acceptable = Literal["fuse-too-large", "no-fuse", "no-feed"]
#: What a budget limits: a supply, a fuse, or a stretch of wire.
BudgetKind = Literal["supply", "branch", "wire"]
#: How a place on a line is written.
PositionKind = Literal["start", "middle", "end", "connector", "pixel", "after pixel", "length"]

"""Types for the parts of a mass, so that a misspelling doesn't type-check."""

from __future__ import annotations

from typing import Literal

#: A side of a mass, as seen from the street.
Side = Literal["front", "right", "back", "left"]
RoofShape = Literal["gable", "hip", "shed", "flat"]
#: The way a gable roof's ridge runs, as seen from the street.
RidgeDirection = Literal["away", "across"]
EdgeKind = Literal[
    "eave", "rake", "ridge", "hip", "valley", "fascia", "post", "window", "door", "rail line"
]
FaceKind = Literal["wall", "roof", "soffit", "fascia", "window", "door"]

"""What hides what."""

import numpy as np
import pytest

from lumenmap.pictures.scene.camera import Camera, level
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.surface import flat

#: A wall, and in front of it, in it or behind it a board that is drawn later.
WALL = [(0, 0, 0), (8, 0, 0), (8, 0, 4), (0, 0, 4)]


@pytest.mark.parametrize(
    ("proud", "seen"), [(0.01, True), (0.002, True), (0, False), (-0.01, False)]
)
def test_of_two_faces_in_one_plane_the_first_is_seen(proud, seen):
    board = [(1, -proud, 1.3), (7, -proud, 1.1), (7, -proud, 2.1), (1, -proud, 2.3)]
    surfaces = [flat("wall", WALL, (0.5,) * 3), flat("fascia", board, (0.9,) * 3)]
    turn = level(0.31)  # slanted, so that depths of the two are rounded differently
    camera = Camera(np.array([1.2, -11.3, 1.7]), turn, 700.0, (320.0, 180.0), 640, 360)
    shown = (rasterise(surfaces, camera).surface == 1).any()
    assert shown == seen

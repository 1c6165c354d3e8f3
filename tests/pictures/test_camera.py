"""The camera against OpenCV's, which knows nothing of ours."""

import math

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.pictures.scene.camera import Camera, framed
from lumenmap.pictures.scene.view import NAMED, View, parse_view, view_camera
from lumenmap.site import Site

cv2 = pytest.importorskip("cv2")


def opencv(camera: Camera, points):
    """Project by OpenCV: its axes are right, down, forward as well, so no turn is left to chance."""
    k = np.array(
        [[camera.focal, 0, camera.centre[0]], [0, camera.focal, camera.centre[1]], [0, 0, 1]]
    )
    turn, _ = cv2.Rodrigues(camera.turn)
    move = -camera.turn @ camera.position
    return cv2.projectPoints(points, turn, move, k, None)[0][:, 0]


@pytest.mark.parametrize("name", NAMED)
def test_corners_fall_where_opencv_puts_them(house, pixelmap, name):
    camera = view_camera(Site(house, pixelmap), name, 1280, 720)
    corners = np.concatenate([f.corners for f in house.faces] + [pixelmap.xyz])
    places, depth = camera.project(corners)
    assert (depth > 0).all()
    assert np.abs(places - opencv(camera, corners)).max() < 0.1


def test_a_tilted_view_agrees_too(house, pixelmap):
    camera = view_camera(
        Site(house, pixelmap), View((3.0, -6.0, 12.0), (4.0, 1.0, 3.0), 28), 800, 600
    )
    corners = np.concatenate([f.corners for f in house.faces])
    assert np.abs(camera.project(corners)[0] - opencv(camera, corners)).max() < 0.1
    middle = camera.project(np.array([[4.0, 1.0, 3.0]]))[0][0]
    assert middle == pytest.approx((400, 300))


@pytest.mark.parametrize("name", NAMED)
def test_named_views_hold_the_whole_house(house, pixelmap, name):
    camera = view_camera(Site(house, pixelmap), name, 640, 360)
    places, _ = camera.project(np.concatenate([f.corners for f in house.faces]))
    assert (places > 10).all()
    assert (places < np.array([630, 350])).all()
    assert np.ptp(places[:, 0]) > 250 or np.ptp(places[:, 1]) > 200


def test_uprights_stay_upright():
    camera = framed(np.array([[0, 0, 0], [9, 5, 7.0]]), 640, 360)
    places, _ = camera.project(np.array([[2, 0, 0], [2, 0, 6.0]]))
    assert places[0, 0] == pytest.approx(places[1, 0])


def test_rays_undo_projection():
    camera = framed(np.array([[0, 0, 0], [9, 5, 7.0]]), 640, 360)
    points = np.array([[1, 2, 3.0], [8, 0, 1]])
    places, depth = camera.project(points)
    assert camera.position + camera.rays(places) * depth[:, None] == pytest.approx(points)


@pytest.mark.parametrize(
    ("view", "message"),
    [
        ("steet", 'no view "steet"; did you mean "street"'),
        (View((4, 4, 1.5), (4, 20, 2)), "view: the camera is inside the house"),
        (View((4, -9, 1.5), (4, -9, 1.5)), "view: the camera looks at its own position"),
        (View((4, -9, 1.5), (4, 0, 2), 3), "lens: is 3 mm; expected 8 to 800"),
        (View((4, -9, math.nan), (4, 0, 2)), "expected finite numbers for position"),
    ],
)
def test_views_that_show_nothing_are_refused(house, pixelmap, view, message):
    with pytest.raises(InputError, match=message):
        view_camera(Site(house, pixelmap), view, 640, 360)


def test_places_are_read_from_text():
    assert parse_view("4,-9,1.7", "4, 0, 3", 35) == View((4, -9, 1.7), (4, 0, 3), 35)
    read = parse_view("10,-30 ft,5 ft 6 in", "1 m,0,3", 35, "ft")
    assert read.position == pytest.approx((3.048, -9.144, 1.6764), abs=1e-12)
    assert read.target == pytest.approx((1, 0, 0.9144), abs=1e-12)
    with pytest.raises(InputError, match='stand: is "4,-9"; expected x,y,z'):
        parse_view("4,-9", "1,2,3", 35)
    with pytest.raises(InputError, match="look_at: is missing: `stand` and `look_at` go together"):
        parse_view("4,-9,1", None, 35)

"""Faults of which a film shows little: most of the wrong edge is hidden, or all of it but its end.

Houses, cameras and what hides pixels are invented; the cameras are OpenCV's.
"""

import numpy as np
import pytest

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.seen import Seen
from lumenmap.camera.faults.backwards import turned
from lumenmap.camera.faults.holes import Piece
from lumenmap.camera.film.spots import Spots
from lumenmap.pixels.pixelmap import LineSpan
from tests.camera.faults.traces import filmed, found, right


@pytest.mark.parametrize(
    ("number", "fault"),
    [
        (3073, "reversed"),  # 7 of 50 pixels
        (3054, "order"),  # the other edge isn't seen at all
        (3026, "too many"),  # round a gable's peak the next hole is on another rail
    ],
)
def test_little_of_a_fault_is_seen(number, fault):
    faults, told = found(number, fault, number)
    assert right(faults, told), [f.words for f in faults]


class Row:
    """Two edges of 20 pixels each in a row, a hole every 10 pixels of the picture."""

    span = LineSpan("row", 0, 40, 1, "RGB", 4.0)
    edge = np.repeat([0, 1], 20)

    def seen(self):
        places = np.stack([100 + 10.0 * np.arange(40), np.full(40, 50.0)], axis=1)
        along = np.tile([1.0, 0.0], (40, 1))
        return Seen(places, along, np.full(40, 10.0), np.full(40, 6.0), np.ones(40, bool))

    def film(self, numbers, holes):
        """A film that shows pixels in holes."""
        spots = Spots(np.array(numbers), self.seen().places[holes], np.full(len(holes), 80.0))
        return Evidence("film", filmed(spots), None, self.seen())

    def pieces(self, *shown):
        """The line's pieces if each film shows (pixels, holes)."""
        mapped = [Piece(0, 39, 0, 1, tuple(range(20)))]
        return turned(mapped, [self.film(*own) for own in shown], self.span, self)


def test_two_pixels_show_an_edge_turned_round_and_one_does_not():
    row = Row()
    first, second = row.pieces(([21, 23], [38, 36]))
    assert (first.first, first.last, first.hole, first.step) == (0, 19, 0, 1)
    assert (second.first, second.last, second.hole, second.step) == (20, 39, 39, -1)
    assert second.shown == (21, 23)
    assert len(row.pieces(([21], [38]))) == 1


def test_two_films_show_together_an_edge_turned_round():
    """Each shows one pixel there; a third film that shows others in their own holes says no."""
    row, one, two = Row(), ([21], [38]), ([23], [36])
    assert len(row.pieces(one)) == len(row.pieces(two)) == len(row.pieces(one, one)) == 1
    assert row.pieces(one, two)[1].shown == (21, 23)
    assert len(row.pieces(one, two, ([24, 25, 26], [24, 25, 26]))) == 1


def test_pixels_in_an_edges_middle_do_not_show_it():
    """There the camera's own error, or a pixel too many, looks the same."""
    assert len(Row().pieces(([28, 29, 30, 31], [31, 30, 29, 28]))) == 1


def test_pixels_in_their_own_holes_speak_against_it():
    numbers = [21, 23, 24, 25, 26]
    assert len(Row().pieces((numbers, [38, 36, 24, 25, 26]))) == 1

"""Labels on a page."""

from lumenmap.drawing.labels import Labels, around


def test_labels_dont_overlap():
    labels = Labels()
    points = [labels.place("100", 2.2, around((0, 0), (0, -1), (3, 6))) for _ in range(8)]
    assert None not in points[:6] and len(set(points[:6])) == 6
    assert labels.place("100", 2.2, [points[0]]) is None
    assert labels.place("100", 2.2, [points[0]], must=True) == points[0]


def test_the_first_place_is_outward():
    """Outward, a reach away; then the next ring."""
    places = around((5, 5), (0, -1), (3, 6))
    assert places[0] == (5, 2)
    assert places[5] == (5, 8)
    assert places[6] == (5, -1)

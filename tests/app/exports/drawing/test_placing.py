"""Words beside lines and near places, led to them where they stand away."""

import numpy as np
import pytest
import shapely

from app.exports.drawing import FreeSpace, Text, Wording, led_to, words_beside

SHEET = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 100.0], [0.0, 100.0]])
LEVEL = np.array([[10.0, 50.0], [190.0, 50.0]])
WORDS = [Wording("inside R 145 mm (5 11/16 in), roll DOWN", 2.5)]
OFF_MM = (0.8, 2.0, 4.0, 6.0, 9.0)


def test_words_close_beside_their_line_have_no_leader() -> None:
    told = words_beside(FreeSpace(SHEET, [LEVEL]), LEVEL, WORDS, off_mm=OFF_MM, led_from_mm=2.0)
    (text,) = told.texts
    assert 0.4 < shapely.Polygon(text.outline).distance(shapely.LineString(LEVEL)) < 2.0
    assert told.leaders == ()


@pytest.mark.parametrize("beside", [2.5, 3.5])
def test_words_kept_away_from_their_line_are_led_to_it(beside: float) -> None:
    """Lines 2.5 or 3.5 mm to either side leave no room at 2 mm: a leader runs to their own line."""
    others = [LEVEL + np.array([0.0, side * beside]) for side in (-1.0, 1.0)]
    space = FreeSpace(SHEET, [LEVEL, *others])
    told = words_beside(space, LEVEL, WORDS, off_mm=OFF_MM, led_from_mm=2.0)
    (text,), (led,) = told.texts, told.leaders
    ground = shapely.Polygon(text.outline)
    assert ground.distance(shapely.LineString(LEVEL)) > 2.0
    assert shapely.LineString(LEVEL).distance(shapely.Point(led.points[-1])) < 1e-9
    assert ground.distance(shapely.Point(led.points[0])) < 1e-9


def test_a_leader_is_drawn_from_so_far_on_alone() -> None:
    """Ground of 2.5 mm capitals ends 0.8 mm below their base line: 4.2 mm above the place here."""
    text = Text("thinnest 1.28 mm", (50.0, 5.0), 2.5, "middle")
    place = np.array([50.0, 0.0])
    assert led_to([text], place, 4.3).leaders == ()
    (led,) = led_to([text], place, 4.1).leaders
    assert led.points[-1] == pytest.approx(place)
    assert led.points[0] == pytest.approx([50.0, 4.2])
    assert not led_to([], place, 0.0)

"""The tools that set the tank up, by themselves: what they hold, take back and end with."""

import numpy as np
import pytest

from app.window.hands import TapeTool
from app.window.picture_tools import LassoTool, PlaneTool
from app.window.scene import Hit
from app.window.skin_tools import LineTool, PicksTool, ZoneTool

EYE = np.array([0.0, 0.0, 1.0])


def at(x: float, y: float, z: float = 0.0) -> Hit:
    """Return a place pointed at."""
    return Hit("picture", -1, np.array([x, y, z]), np.zeros(3))


def far(point: np.ndarray) -> float:
    """Return a gap nothing catches within."""
    return 1e9


def test_a_lasso_drawn_with_the_button_held_closes_and_keeps_its_direction() -> None:
    lasso = LassoTool(lambda: EYE)
    for turn in np.linspace(0.0, 6.0, 30):
        lasso.pull(at(10 * np.cos(turn), 10 * np.sin(turn)), 0.5)
    lasso.pull(at(10 * np.cos(6.0), 10 * np.sin(6.0)), 0.5)  # nearer than a step: nothing
    assert len(lasso.corners) == 30
    assert lasso.end_pull() == ""
    assert lasso.is_laid
    assert lasso.along is not None
    assert np.array_equal(lasso.along, -EYE)
    assert np.array_equal(lasso.drawn().path[0], lasso.drawn().path[-1])
    lasso.take_back()  # opens it, then takes corners
    lasso.take_back()
    assert (lasso.is_laid, len(lasso.corners)) == (False, 29)


def test_a_lasso_of_two_corners_is_forgotten() -> None:
    lasso = LassoTool(lambda: EYE)
    lasso.pull(at(0, 0), 0.5)
    lasso.pull(at(5, 0), 0.5)
    lasso.end_pull()
    assert not lasso.has_begun
    assert not lasso.is_laid


def test_a_lasso_clicked_closes_on_its_first_corner() -> None:
    lasso = LassoTool(lambda: EYE)
    for x, y in ((0, 0), (10, 0), (10, 10)):
        lasso.follow(at(x, y), 1.0, far)
        lasso.put(at(x, y))
    assert lasso.can_close
    lasso.follow(at(0.1, 0.0), 1.0, lambda point: 3.0)
    lasso.put(at(0.1, 0.0))
    assert lasso.is_laid
    assert len(lasso.corners) == 3


def test_a_plane_stands_square_to_the_picture_and_turns_its_side() -> None:
    """The side that stays lies square to the line and to the way looked along."""
    plane = PlaneTool(lambda: EYE, np.array([3.0, 7.0, 0.0]))
    plane.put(at(0, 0))
    plane.put(at(10, 0))
    assert plane.is_laid
    assert np.abs(plane.normal @ EYE) < 1e-15
    assert np.abs(plane.normal @ np.array([1.0, 0, 0])) < 1e-15
    assert np.linalg.norm(plane.normal) == pytest.approx(1.0, abs=1e-15)
    before = plane.normal
    assert before[1] == pytest.approx(1.0, abs=1e-15)  # the side of the middle stays
    plane.flip()
    assert np.array_equal(plane.normal, -before)
    plane.take_back()
    assert not plane.is_laid


def test_picks_end_in_whole_pairs_only() -> None:
    picks = PicksTool("Click.", least=2, by=2, names=("left", "right"))
    picks.put(at(0, 1))
    assert "right" in picks.words()
    ends = [picks.can_end]
    picks.put(at(0, -1))
    ends.append(picks.can_end)
    assert ends == [False, True]
    assert [words for _, words in picks.drawn().words] == ["left 1", "right 1"]
    picks.take_back()
    assert [picks.can_end] == [False]


def test_one_pick_ends_by_itself() -> None:
    assert PicksTool("Click.", least=1, most=1).put(at(0, 0)) == "end"


def test_a_zone_reaches_to_its_second_click() -> None:
    zone = ZoneTool("A place.")
    assert zone.put(at(1, 1)) == ""
    assert zone.put(at(4, 5)) == "end"
    assert zone.radius == 5.0


def test_a_line_catches_on_one_that_was_found_and_closes_on_its_first_point() -> None:
    line = LineTool((np.array([[0.0, 0, 0], [10.0, 0, 0]]),))
    for x, y in ((5.0, 0.4), (5.0, 5.0), (8.0, 5.0)):
        line.follow(at(x, y), 1.0, far)
        line.put(at(x, y))
    assert line.picked[0].tolist() == [5.0, 0.0, 0.0]
    assert line.picked[1].tolist() == [5.0, 5.0, 0.0]
    assert line.can_end
    line.follow(at(5.2, 0.1), 1.0, far)  # the line is nearer, but the first point counts first
    assert line.put(at(5.2, 0.1)) == "close"


def test_a_tape_round_the_tank_takes_three_points_and_one_along_a_line_any_number() -> None:
    girth = TapeTool("girth")
    for x, y in ((0, 0), (5, 0), (5, 0), (0, 5)):  # the same place twice counts once
        girth.put(at(x, y))
    assert girth.is_laid
    assert girth.tape(912.0).kind == "girth"
    assert len(girth.drawn().path) == 4  # and back to the first
    along = TapeTool("along")
    for x in (0, 5, 9):
        along.put(at(x, 0))
    assert (along.is_laid, along.can_end) == (False, True)
    along.asked_to("end")
    assert along.is_laid
    assert along.tape(9.0).points == ((0.0, 0.0, 0.0), (5.0, 0.0, 0.0), (9.0, 0.0, 0.0))
    along.take_back()
    assert not along.is_laid


def test_a_hatch_shows_whichever_way_the_skin_looks() -> None:
    """A stripe field's slope along a face is the direction less its part along the normal: on
    every face it keeps at least 1/sqrt(3) of its length, so stripes lie at most 1.8 pitches apart.
    """
    from app.window.scene.painters import facing_parts

    turn = np.random.default_rng(5).normal(size=(400, 3, 3))
    vertices = turn.reshape(-1, 3)
    faces = np.arange(1200).reshape(-1, 3)
    seen = 0
    for part, ways in facing_parts(vertices, faces):
        a, b, c = (part.points[part.regular_faces[:, k]] for k in range(3))
        normal = np.cross(b - a, c - a)
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        for way in ways:
            along = way - (normal @ way)[:, None] * normal
            assert np.linalg.norm(along, axis=1).min() > 1.0 / np.sqrt(3.0) - 1e-6
        seen += len(normal)
    assert seen == 400

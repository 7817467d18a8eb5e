import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.seams import Meeting, SeamGround, meetings, self_meetings
from tests.bodies import patch
from tests.pace import quiet_seconds


def flat(*places: tuple[float, float]) -> FloatArray:
    return np.column_stack([np.array(places, np.float64), np.zeros(len(places))])


def told(line: FloatArray, *, closed: bool = False) -> list[tuple[str, list[float]]]:
    found: tuple[Meeting, ...] = self_meetings(line, closed=closed)
    return [(each.kind, np.round(each.point, 6).tolist()) for each in found]


def test_lines_through_given_places_cross_where_both_hold() -> None:
    """From (0, 0) by (60, 60) and (60, 0) to (0, 45): x = y meets 3 x + 4 y = 180 at 180/7."""
    bow = flat((0, 0), (60, 60), (60, 0), (0, 45))
    assert told(bow) == [("crosses", [round(180 / 7, 6)] * 2 + [0.0])]


@pytest.mark.parametrize("shift", [0.0, 0.1, 0.4])
@pytest.mark.parametrize("tail", [3.0, 12.0, 80.0])
def test_a_tail_that_runs_back_is_told_once_where_it_turns(tail: float, shift: float) -> None:
    line = flat((0, 0), (50, 0), (100, 0), (100 - tail, shift * tail / 100))
    ((kind, place),) = told(line)
    assert kind == "doubles back"
    assert place == [100.0, 0.0, 0.0]


def test_a_way_back_with_a_blunt_turn_is_told_in_the_middle_of_it() -> None:
    ((kind, place),) = told(flat((0, 0), (100, 0), (100, 0.4), (30, 0.4), (30, 60)))
    assert kind == "doubles back"
    assert place == pytest.approx([100.0, 0.2, 0.0], abs=0.1)


def test_a_line_that_goes_round_a_second_time_doubles_back_from_where_it_closes() -> None:
    turn = np.linspace(0.0, 3.0 * np.pi, 300)
    ring = np.column_stack([50 * np.cos(turn), 50 * np.sin(turn), 0 * turn])
    ((kind, place),) = told(ring)
    assert kind == "doubles back"
    assert place == pytest.approx([50.0, 0.0, 0.0], abs=0.6)  # a hair early


@pytest.mark.parametrize("sharp_rad", [0.25, 0.6, 2.0, 3.1])
def test_a_corner_is_no_meeting_unless_it_all_but_turns_back(sharp_rad: float) -> None:
    """Limbs that open by more than ten degrees (0.17 rad)."""
    back = np.array([100.0, 0.0]) + 90.0 * np.array([-np.cos(sharp_rad), np.sin(sharp_rad)])
    assert told(flat((0, 0), (100, 0), (back[0], back[1]))) == []


def test_a_ring_meets_itself_nowhere_and_a_figure_of_eight_once() -> None:
    assert told(flat((10, 10), (90, 10), (90, 90), (50, 40), (10, 90)), closed=True) == []
    eight = flat((10, 10), (90, 90), (90, 10), (10, 90))
    assert told(eight, closed=True) == [("crosses", [50.0, 50.0, 0.0])]


def test_lines_apart_by_more_than_a_hair_are_let_be() -> None:
    assert told(flat((0, 0), (100, 0), (100, 0.6), (0, 0.6))) == []


def test_a_point_alone_a_pair_and_points_in_one_place_meet_nothing() -> None:
    for count in (0, 1, 2):
        assert told(flat(*[(0.0, 1.0)] * count).reshape(-1, 3)) == []
    assert told(flat((1, 1), (1, 1), (1, 1), (5, 1))) == []


def test_it_agrees_with_the_exact_line_s_crossings_on_a_plate() -> None:
    """Two routes: by the faces both pieces lie in, and by nearness; random wide lines."""
    x, y = np.meshgrid(np.linspace(0, 100, 41), np.linspace(0, 100, 41), indexing="ij")
    plate = SeamGround(patch(x, y, np.zeros_like(x)), coarse_edge_mm=6.0)
    rng = np.random.default_rng(5)
    crossings, missed = 0, 0
    for _ in range(20):
        line = plate.exact(flat(*rng.uniform(5.0, 95.0, (8, 2)).tolist()))
        found = [
            each for each in self_meetings(line.points, within_mm=0.05) if each.kind == "crosses"
        ]
        exact = [each for each in meetings(line) if each.kind == "crosses"]
        crossings += len(exact)
        places = np.array([each.point for each in exact]).reshape(-1, 3)
        for meeting in found:
            assert np.linalg.norm(places - meeting.point, axis=1).min() < 0.1
        missed += len(exact) - len(found)  # at under ten degrees, or hard by a corner
    assert crossings > 40
    assert 0 <= missed < crossings / 8


def test_three_hundred_points_are_answered_while_the_hand_moves() -> None:
    """A hundredth of a second, of the twentieth a move may take."""
    way = np.linspace(0.0, 2000.0, 300)
    line = np.column_stack([way, 30.0 * np.sin(way / 200.0), 0 * way])
    assert self_meetings(line) == ()
    assert quiet_seconds(lambda: self_meetings(line)) < 0.01

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.seams import Meeting, SeamGround, meetings, point_inserted
from tests.bodies import patch


@pytest.fixture(scope="module")
def plate() -> SeamGround:
    x, y = np.meshgrid(np.linspace(0, 100, 41), np.linspace(0, 100, 41), indexing="ij")
    return SeamGround(patch(x, y, np.zeros_like(x)), coarse_edge_mm=6.0)


def found(ground: SeamGround, points: list[list[float]], closed: bool) -> tuple[Meeting, ...]:
    flat = np.column_stack([np.array(points, np.float64), np.zeros(len(points))])
    return meetings(ground.exact(flat, closed=closed))


def test_a_line_that_crosses_itself_is_told_where(plate: SeamGround) -> None:
    """Lines through (10, 10)-(90, 80) and (80, 15)-(20, 90) cross where both hold."""
    told = found(plate, [[10.3, 10.1], [90, 80.2], [80.1, 15], [20.2, 90]], False)
    assert [each.kind for each in told] == ["crosses"]
    one, other = np.array([79.7, 70.1]), np.array([-59.9, 75.0])
    share = np.linalg.solve(
        np.column_stack([one, -other]), np.array([80.1, 15]) - np.array([10.3, 10.1])
    )
    assert told[0].point[:2] == pytest.approx(np.array([10.3, 10.1]) + share[0] * one, abs=1e-6)
    assert told[0].along_mm[0] == pytest.approx(share[0] * np.hypot(*one), abs=1e-6)


def test_a_line_that_turns_back_on_itself_doubles_back_once(plate: SeamGround) -> None:
    told = found(plate, [[10.3, 20.1], [80, 20.1], [40, 20.1], [40, 70]], False)
    assert [each.kind for each in told] == ["doubles back"]
    assert sum(told[0].along_mm) == pytest.approx(2 * 69.7, abs=1e-6)


@pytest.mark.parametrize("closed", [False, True])
def test_a_sound_line_meets_itself_nowhere(plate: SeamGround, closed: bool) -> None:
    assert found(plate, [[10, 10], [90, 10], [90, 90], [50, 40], [10, 90]], closed) == ()


def test_a_figure_of_eight_crosses_once(plate: SeamGround) -> None:
    told = found(plate, [[10.1, 10], [90, 90.3], [90, 10], [10, 90.2]], True)
    assert [each.kind for each in told] == ["crosses"]


@pytest.mark.parametrize(
    ("place", "expected"), [([50.0, 12, 0], 1), ([88.0, 50, 0], 2), ([50, 88.0, 0], 3)]
)
def test_a_point_goes_in_on_the_leg_it_lies_nearest_to(
    plate: SeamGround, place: list[float], expected: int
) -> None:
    points = np.array([[10.0, 10, 0], [90, 10, 0], [90, 90, 0], [10, 90, 0]])
    path = plate.exact(points, closed=True)
    grown: FloatArray = point_inserted(points, path, np.array(place))
    assert (grown[expected] == place).all()
    assert (np.delete(grown, expected, axis=0) == points).all()
    last = point_inserted(points, path, np.array([11.0, 50, 0]))
    assert (last[4] == [11, 50, 0]).all()

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import section
from geometry.seams import SnapLine, SnapLines, plane_lines
from tests.bodies import dome

LINE = SnapLine("line", "line 2", np.array([[0.0, 0, 0], [100, 0, 0]]))
RIM = SnapLine("rim", "rim", np.array([[0.0, 10, 0], [100, 10, 0]]))


def test_the_nearest_line_in_reach_catches() -> None:
    lines = SnapLines([LINE, RIM])
    caught = lines.caught(np.array([40.0, 4, 3]), 6.0)
    assert caught is not None
    assert (caught.kind, caught.name, caught.distance_mm) == ("line", "line 2", 5.0)
    assert caught.point == pytest.approx([40, 0, 0])
    assert caught.along_mm == 40.0
    assert lines.caught(np.array([40.0, 4, 3]), 4.9) is None


@pytest.mark.parametrize(
    ("line", "rim", "name"), [(1.0, 1.0, "line 2"), (1.0, 2.0, "rim"), (0.0, 1.0, "rim")]
)
def test_a_stronger_line_wins_farther_off_and_none_catches_when_off(
    line: float, rim: float, name: str
) -> None:
    """4 mm from the line, 6 from the rim: twice as strong, the rim is felt at 3."""
    caught = SnapLines([LINE, RIM]).caught(
        np.array([40.0, 4, 0]), 6.0, strength={"line": line, "rim": rim}
    )
    assert caught is not None
    assert caught.name == name


def test_a_weak_line_catches_from_less_far_and_all_can_be_off() -> None:
    lines = SnapLines([LINE])
    assert lines.caught(np.array([40.0, 4, 0]), 6.0, strength={"line": 0.5}) is None
    assert lines.caught(np.array([40.0, 2.9, 0]), 6.0, strength={"line": 0.5}) is not None
    assert lines.caught(np.array([40.0, 0, 0]), 6.0, strength={"line": 0.0}) is None
    assert SnapLines([]).caught(np.zeros(3), 6.0) is None
    with pytest.raises(ValueError, match="strength"):
        lines.caught(np.zeros(3), 6.0, strength={"line": -1.0})


def test_a_closed_line_catches_on_the_side_that_closes_it() -> None:
    square = np.array([[0.0, 0, 0], [30, 0, 0], [30, 40, 0]])
    place = np.array([14.0, 20.5, 0])
    assert SnapLines([SnapLine("seam", "lid", square)]).caught(place, 2.0) is None
    caught = SnapLines([SnapLine("seam", "lid", square, closed=True)]).caught(place, 2.0)
    assert caught is not None
    assert caught.distance_mm == pytest.approx((20.5 * 3 - 14.0 * 4) / 5)
    assert caught.along_mm == pytest.approx(70 + 50 - (14 * 3 + 20.5 * 4) / 5)


def test_catching_is_the_same_wherever_the_tank_lies() -> None:
    turn, _ = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))
    rng = np.random.default_rng(6)
    points = rng.uniform(0, 50, (40, 3))

    def found(place: FloatArray, moved: bool) -> tuple[float, float]:
        line = points @ turn.T + 1000.0 if moved else points
        caught = SnapLines([SnapLine("line", "a", line)]).caught(
            place @ turn.T + 1000.0 if moved else place, 30.0
        )
        assert caught is not None
        return caught.distance_mm, caught.along_mm

    for place in rng.uniform(0, 50, (20, 3)):
        assert found(place, True) == pytest.approx(found(place, False), abs=1e-9)


def test_sections_of_the_cut_faces_alone_are_those_of_the_mesh() -> None:
    mesh = dome(60.0, 1.3, 24)
    point, normal = np.array([7.0, 0, 0]), np.array([2.0, 1, 0])
    lines = plane_lines(mesh, point, normal, kind="station", name="station 7")
    whole = section(mesh, point, normal)
    assert len(lines) == len(whole) == 1
    assert (lines[0].points == whole[0]).all()
    assert (lines[0].kind, lines[0].name) == ("station", "station 7")
    assert plane_lines(mesh, np.array([900.0, 0, 0]), normal) == ()


def test_a_point_on_a_station_of_a_ball_lies_on_its_circle() -> None:
    """A plane 20 mm off the middle of a 60 mm ball cuts a circle of sqrt(60^2 - 20^2) mm."""
    mesh = dome(60.0, 1.5, 40)
    lines = SnapLines(plane_lines(mesh, np.array([20.0, 0, 0]), np.array([1.0, 0, 0])))
    caught = lines.caught(np.array([22.0, 30, 47]), 4.0)
    assert caught is not None
    assert np.hypot(*caught.point[1:]) == pytest.approx(np.sqrt(3200), abs=0.1)
    assert caught.point[0] == pytest.approx(20.0, abs=1e-9)

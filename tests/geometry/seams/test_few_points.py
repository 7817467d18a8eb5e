import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.polyline import points_along
from geometry.progress import Cancelled
from geometry.seams import SeamGround, faired, few_points
from geometry.seams.course import distance_to_line
from tests.bodies import cylinder_sheet, dome, patch


@pytest.fixture(scope="module")
def plate() -> SeamGround:
    x, y = np.meshgrid(np.linspace(0, 200, 61), np.linspace(0, 100, 31), indexing="ij")
    return SeamGround(patch(x, y, np.zeros_like(x)), coarse_edge_mm=6.0)


def apart(ground: SeamGround, points: FloatArray, line: FloatArray, *, closed: bool) -> float:
    """Return the farthest of either exact line from the other, looked at anew every half mm."""
    one, other = (ground.exact(each, closed=closed).points for each in (points, line))
    far = []
    for near, beside in ((one, other), (other, one)):
        total = np.linalg.norm(np.diff(near, axis=0), axis=1).sum()
        places = points_along(near, np.linspace(0.0, total, int(total / 0.5)))
        far.append(distance_to_line(places, beside).max())
    return float(max(far))


def test_a_straight_line_needs_its_ends_alone(plate: SeamGround) -> None:
    line = np.linspace([3.0, 10.0, 0.0], [190.0, 81.0, 0.0], 40)
    assert few_points(plate, line).tolist() == line[[0, -1]].tolist()


@pytest.mark.parametrize("off_mm", [0.1, 0.3, 1.0])
def test_an_arc_needs_as_many_as_its_chords_do(plate: SeamGround, off_mm: float) -> None:
    """A chord over the angle w of a circle of radius R is R (1 - cos w/2) off it.

    Half a turn, by points 3 mm apart: each leg may fall a point short of the longest chord.
    """
    turn = np.linspace(0.0, np.pi, 90)
    arc = np.column_stack([100 + 80 * np.cos(turn), 5 + 80 * np.sin(turn), 0 * turn])
    few = few_points(plate, arc, off_mm=off_mm)
    step = turn[1]
    chord = 2 * np.arccos(1 - off_mm / 80)
    longest = 2 * np.arccos(np.cos(step / 2) - off_mm / 80)  # off the drawn line's own chords
    assert np.ceil(np.pi / longest) <= len(few) - 1 <= np.ceil(np.pi / (chord - 2 * step)) + 1
    assert apart(plate, few, arc, closed=False) <= off_mm + 0.01


def test_a_helix_on_a_cylinder_is_a_taut_line_and_needs_two() -> None:
    """It unrolls straight; facets 2 mm wide let the exact line off it by a few hundredths."""
    sheet = cylinder_sheet(60.0, 2.4, 150.0, around=72, along=40)
    ground = SeamGround(sheet)
    start, end = sheet.vertices[[45, -60]]
    line = ground.exact(np.stack([start, end])).points
    assert len(few_points(ground, line, off_mm=0.1)) == 2


def test_a_ring_on_a_dome_keeps_near_and_three_points_at_least() -> None:
    """A parallel of radius 40 on a dome of 80 bends by cos 30 / 40 in the surface, R 46.

    An arc of 10.5 mm leaves its chord by 0.3: 24 legs at least.
    """
    ground = SeamGround(dome(80.0, 1.2, 24))
    turn = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
    height = np.sqrt(80.0**2 - 40.0**2)
    top = ground.mesh.vertices[:, 2].max()
    ring = ground.nearest(
        np.column_stack([40 * np.cos(turn), 40 * np.sin(turn), 0 * turn + top - 80.0 + height])
    ).points
    few = few_points(ground, ring, closed=True)
    assert 24 <= len(few) <= 30
    assert apart(ground, few, ring, closed=True) <= 0.32
    assert len(few_points(ground, ring, closed=True, off_mm=500.0)) >= 3


def test_a_faired_line_loses_most_of_its_points_and_stays_where_it_is(plate: SeamGround) -> None:
    rough = np.array([[5.0, 20, 0], [60, 34, 0], [110, 30, 0], [195, 60, 0]])
    fair = faired(plate, rough, within_mm=3.0).points
    few = few_points(plate, fair)
    assert len(few) <= len(fair) / 2
    assert apart(plate, few, fair, closed=False) <= 0.31


def test_two_points_and_repeats_come_back_as_they_are(plate: SeamGround) -> None:
    line = np.array([[5.0, 20, 0], [5.0, 20, 0], [60, 34, 0]])
    assert few_points(plate, line).tolist() == line[1:].tolist()


def test_it_can_be_stopped_and_says_how_far_it_is(plate: SeamGround) -> None:
    turn = np.linspace(0.0, np.pi, 60)
    arc = np.column_stack([100 + 80 * np.cos(turn), 5 + 80 * np.sin(turn), 0 * turn])
    told: list[float] = []
    few_points(plate, arc, report=lambda done, _: told.append(done))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done: float, _: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        few_points(plate, arc, report=stop)

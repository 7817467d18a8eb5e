"""What turns about an axis: nothing is missed between angles that are tried."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.comparison import (
    GapFinder,
    Steering,
    Turned,
    block,
    deepest_turn,
    nearest_turn,
    round_bar,
)
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from tests.bodies import graph_patch

LOCK = np.radians(32.0)
AXIS = Steering(np.array([0.0, 0.0, -100.0]), np.array([0.0, 0.0, 100.0]), LOCK)
BAR = round_bar(np.array([400.0, 0.0, -30.0]), np.array([400.0, 0.0, 30.0]), 20.0)
"""Along the axis: what it comes near to is a matter of the plane it is seen in end on."""


def rib(angle: float, near: float, half: float = 2.0) -> TriMesh:
    """A rib that points at the axis from outside, its tip so far from it."""
    way = np.array([np.cos(angle), np.sin(angle), 0.0])
    return block(near * way, (near + 40.0) * way, 2.0 * half, 40.0)


def to_rib(turned: FloatArray, angle: float, near: float, half: float = 2.0) -> FloatArray:
    """Return by the plane's own formula how near the bar comes: a place to a rectangle, less 10."""
    along = 400.0 * np.cos(turned - angle)
    across = np.abs(400.0 * np.sin(turned - angle))
    short = np.maximum(np.maximum(near - along, along - near - 40.0), 0.0)
    return np.maximum(np.hypot(short, np.maximum(across - half, 0.0)) - 10.0, 0.0)


@pytest.mark.parametrize("angle_deg", [-31.0, 4.0, 25.7])
@pytest.mark.parametrize("near", [411.0, 430.0])
def test_a_rib_between_two_angles_is_found(angle_deg: float, near: float) -> None:
    """The bar's axis passes 400 from the steering's, its own radius is 10: near - 410 is left."""
    angle = np.radians(angle_deg)
    finder = GapFinder(rib(angle, near))
    found = nearest_turn(AXIS, BAR, lambda body: finder.gap(body).distance_mm)
    true = to_rib(np.linspace(-LOCK, LOCK, 64_001), angle, near).min()
    assert true == pytest.approx(near - 410.0, abs=1e-3)
    assert true - 0.02 < found.value_mm < true + 0.17
    here = to_rib(np.array([found.angle_rad]), angle, near)[0]
    assert found.value_mm == pytest.approx(here, abs=0.02)


def test_a_rib_that_is_hit_between_two_angles_is_hit() -> None:
    """Its tip stands 405 out, the bar sweeps 390 to 410; at none of the locks is it near."""
    finder = GapFinder(rib(np.radians(4.0), 405.0))
    locks = [finder.gap(AXIS.turned(BAR, angle)).distance_mm for angle in (-LOCK, 0.0, LOCK)]
    assert min(locks) > 14.0
    found = nearest_turn(AXIS, BAR, lambda body: finder.gap(body).distance_mm)
    assert found.value_mm == 0.0


def test_what_is_known_at_the_locks_is_not_tried_again() -> None:
    """The same is found, and no angle tried is one of those known."""
    finder, tried = GapFinder(rib(np.radians(4.0), 430.0)), []

    def gap(body: TriMesh) -> float:
        tried.append(float(np.arctan2(*body.vertices.mean(axis=0)[1::-1])))
        return finder.gap(body).distance_mm

    known = [
        Turned(angle, float(to_rib(np.array([angle]), np.radians(4.0), 430.0)[0]) - 0.02)
        for angle in (LOCK, -LOCK)
    ]
    found = nearest_turn(AXIS, BAR, gap, known=known)
    assert found.value_mm == pytest.approx(20.0, abs=0.17)
    assert max(np.abs(tried)) < LOCK - 1e-3


def test_nothing_tried_one_by_one_is_nearer() -> None:
    """A crooked body over bumps, also tried every 2 degrees."""
    chance = np.random.default_rng(7)
    finder = GapFinder(graph_patch(chance.normal(size=(9, 9)) * 4.0, 60.0, 60.0))
    axis = Steering(np.array([-20.0, 5.0, 60.0]), np.array([30.0, -10.0, 66.0]), np.radians(40.0))
    body = round_bar(np.array([-8.0, 18.0, 30.0]), np.array([4.0, 14.0, 22.0]), 8.0)
    tried = [
        finder.gap(axis.turned(body, angle)).distance_mm
        for angle in np.radians(np.arange(-40.0, 40.01, 2.0))
    ]
    found = nearest_turn(axis, body, lambda each: finder.gap(each).distance_mm)
    assert found.value_mm < min(tried) + 0.16
    assert found.value_mm < min(tried[0], tried[20], tried[-1]) - 1.0  # not at a lock, nor ahead


def test_what_stands_round_the_axis_is_sure_after_as_many_trials_as_its_radius_asks() -> None:
    """The same gap at all angles: each of n parts hides radius x 64 degrees / 2 n at most."""
    stem = round_bar(np.array([0.0, 0, -9]), np.array([0.0, 0, 9]), 30.0)
    tried = []

    def gap(body: TriMesh) -> float:
        tried.append(body)
        return 7.0

    assert nearest_turn(AXIS, stem, gap, within_mm=0.5).value_mm == 7.0
    parts = 15.0 * 2.0 * LOCK / (2.0 * 0.5)
    assert len(tried) < 6 * 3 + 4 * parts


def test_the_deepest_angle_is_found_between_those_tried_first() -> None:
    """How far out its farthest place reaches along 3.7 degrees: most where it points there."""
    way = np.array([np.cos(np.radians(3.7)), np.sin(np.radians(3.7)), 0.0])

    def reach(body: TriMesh) -> float:
        return float((body.vertices @ way).max()) - 350.0

    rod = round_bar(np.array([300.0, 0, 0]), np.array([400.0, 0, 0]), 0.02)
    found = deepest_turn(AXIS, rod, reach, 0.0)
    assert found.value_mm == pytest.approx(50.0, abs=0.02)
    assert np.degrees(found.angle_rad) == pytest.approx(3.7, abs=0.1)


def test_the_deepest_stays_between_the_locks() -> None:
    def reach(body: TriMesh) -> float:
        return float(body.vertices[:, 1].max())

    found = deepest_turn(AXIS, BAR, reach, 0.0)
    assert found.angle_rad == pytest.approx(LOCK)


def test_progress_rises_and_a_stop_stops() -> None:
    finder = GapFinder(rib(np.radians(4.0), 420.0))
    seen: list[float] = []

    def gap(body: TriMesh) -> float:
        return finder.gap(body).distance_mm

    nearest_turn(AXIS, BAR, gap, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert (0.0 < seen[0] < 1.0, seen[-1]) == (True, 1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        nearest_turn(AXIS, BAR, gap, report=stop)
    with pytest.raises(Cancelled):
        deepest_turn(AXIS, BAR, gap, 0.0, report=stop)

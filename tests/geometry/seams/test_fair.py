import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.fitting import fit_circle
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.seams import SeamGround, faired
from geometry.seams.course import distance_to_line, turnings
from tests.bodies import cylinder_sheet, dome, patch


@pytest.fixture(scope="module")
def plate() -> SeamGround:
    x, y = np.meshgrid(np.linspace(0, 200, 68), np.linspace(0, 120, 41), indexing="ij")
    return SeamGround(patch(x, y, np.zeros_like(x)))


@pytest.fixture(scope="module")
def ball() -> SeamGround:
    return SeamGround(dome(60.0, 1.4, 50))


def small_circle(angle: FloatArray | float, turn: FloatArray) -> FloatArray:
    angle = np.broadcast_to(angle, turn.shape)
    sine = np.sin(angle)
    return 60.0 * np.stack([sine * np.cos(turn), sine * np.sin(turn), np.cos(angle)], axis=1)


def curvatures(ground: SeamGround, points: FloatArray) -> FloatArray:
    length = np.linalg.norm(np.diff(points, axis=0), axis=1)
    turn = turnings(points, ground.normals(points), closed=False)
    return np.asarray(turn / ((length[1:] + length[:-1]) / 2.0))


def test_a_line_wavering_about_a_circle_of_a_ball_turns_as_evenly_as_the_circle(
    ball: SeamGround,
) -> None:
    """The circle at the angle a from the top of a ball of radius R turns by cot(a) / R per mm."""
    turn = np.linspace(-1.2, 1.2, 13)
    waver = np.random.default_rng(1).normal(0, 0.7 / 60, 13)
    waver[[0, -1]] = 0.0
    drawn = ball.nearest(small_circle(0.9 + waver, turn)).points
    fair = faired(ball, drawn, within_mm=3.0)
    before = curvatures(ball, drawn)
    after = curvatures(ball, fair.points)
    assert fair.bend_after < 1e-6 * fair.bend_before
    assert after.std() < 0.05 * before.std()
    assert after.mean() == pytest.approx(1 / np.tan(0.9) / 60, rel=0.03)


@pytest.mark.parametrize("within", [0.3, 1.0, 2.0])
@pytest.mark.parametrize("closed", [False, True])
def test_no_place_moves_farther_than_allowed_and_ends_are_held(
    ball: SeamGround, within: float, closed: bool
) -> None:
    turn = np.linspace(0, 2 * np.pi, 17)[:-1] if closed else np.linspace(0, 3, 16)
    waver = np.random.default_rng(2).normal(0, 3.0 / 60, len(turn))
    drawn = ball.nearest(small_circle(0.9 + waver, turn)).points
    line = ball.exact(drawn, closed=closed).points
    fair = faired(ball, drawn, within_mm=within, closed=closed)
    assert fair.moved_mm.max() <= within
    assert fair.moved_mm.max() > 0.95 * within  # 3 mm of waver uses all that is allowed
    assert distance_to_line(fair.points, line) == pytest.approx(fair.moved_mm, abs=1e-9)
    legs = ball.exact(fair.points, closed=closed).points
    assert distance_to_line(legs, line).max() <= within * (1 + 1e-6) + 0.01
    assert fair.bend_after < fair.bend_before
    if not closed:
        assert fair.points[[0, -1]] == pytest.approx(drawn[[0, -1]], abs=1e-9)


def test_the_more_it_may_move_the_fairer_it_gets(ball: SeamGround) -> None:
    turn = np.linspace(0, 3, 16)
    waver = np.random.default_rng(3).normal(0, 2.0 / 60, len(turn))
    drawn = ball.nearest(small_circle(0.9 + waver, turn)).points
    bends = [faired(ball, drawn, within_mm=within).bend_after for within in (0.2, 0.5, 1, 2)]
    assert bends == sorted(bends, reverse=True)


def test_a_wavering_ring_on_a_plate_becomes_round(plate: SeamGround) -> None:
    """The closed line of even curvature in the plane is the circle."""
    turn = np.linspace(0, 2 * np.pi, 25)[:-1]
    radius = 40 + np.random.default_rng(4).normal(0, 0.8, 24)
    drawn = np.stack([100 + radius * np.cos(turn), 60 + radius * np.sin(turn), 0 * turn], axis=1)
    fair = faired(plate, drawn, within_mm=3.0, closed=True)
    after = np.linalg.norm(fair.points - fit_circle(fair.points).centre, axis=1)
    assert after.std() < 0.15 * radius.std()
    assert fair.bend_after < 1e-3 * fair.bend_before


def test_a_helix_and_a_great_circle_are_fair_already() -> None:
    """Both turn nowhere in the surface; what a faceted one turns is some 1e-3 rad."""
    tube = SeamGround(cylinder_sheet(50.0, 2.4, 160.0, around=96, along=60))
    along, angle = np.linspace(20, 140, 9), np.linspace(-0.8, 0.8, 9)
    helix = np.stack([along, 50 * np.sin(angle), 50 * np.cos(angle)], axis=1)
    assert faired(tube, helix).moved_mm.max() < 0.1
    ball = SeamGround(dome(60.0, 1.4, 50))
    tilt = np.linspace(-1.1, 1.1, 9)
    great = 60 * np.stack([np.sin(tilt), np.zeros(9), np.cos(tilt)], axis=1)
    assert faired(ball, great).moved_mm.max() < 0.1


def test_fairing_is_the_same_wherever_the_tank_lies(ball: SeamGround) -> None:
    turn, _ = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))
    turn[:, 0] *= np.linalg.det(turn)
    moved = SeamGround(TriMesh(ball.mesh.vertices @ turn.T + 300.0, ball.mesh.faces))
    around = np.linspace(0, 3, 12)
    waver = np.random.default_rng(6).normal(0, 1.0 / 60, 12)
    drawn = ball.nearest(small_circle(0.9 + waver, around)).points
    here = faired(ball, drawn)
    there = faired(moved, drawn @ turn.T + 300.0)
    assert (there.points - 300.0) @ turn == pytest.approx(here.points, abs=0.05)


@pytest.mark.parametrize("count", [2, 3])
def test_a_line_too_short_to_turn_stays(plate: SeamGround, count: int) -> None:
    drawn = np.column_stack([np.linspace(50, 54, count), np.full(count, 60.0), np.zeros(count)])
    fair = faired(plate, drawn)
    assert fair.moved_mm.max() == pytest.approx(0.0, abs=1e-9)


def test_a_line_that_may_not_move_is_refused(plate: SeamGround) -> None:
    drawn = np.array([[20.0, 60, 0], [60, 70, 0], [120, 50, 0], [160, 60, 0]])
    with pytest.raises(ValueError, match="may not move"):
        faired(plate, drawn, within_mm=0.0)


def test_fairing_tells_how_far_it_is_and_can_be_stopped(ball: SeamGround) -> None:
    drawn = ball.nearest(small_circle(np.tile([0.88, 0.92], 6), np.linspace(0, 3, 12)))
    seen: list[float] = []
    faired(ball, drawn.points, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        faired(ball, drawn.points, report=stop)

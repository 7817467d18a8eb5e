"""Parts of a scan pointed out: planes, lassos, balls, and only what is met first."""

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh
from geometry.scan import Ball, EmptyRegionError, HalfSpace, Lasso
from geometry.scan.regions import within
from tests.geometry.scan.scans import ball, joined, sheet, tube

SKIN = ball(100.0, 3000)
SQUARE = np.array([[-30.0, -30, 0], [30, -30, 0], [30, 30, 0], [-30, 30, 0]])
DOWN = np.array([0.0, 0.0, -1.0])


def middles(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[mesh.faces].mean(axis=1))


def in_square() -> BoolArray:
    return np.asarray((np.abs(middles(SKIN)[:, :2]) < 30.0).all(axis=1))


def test_a_half_space_holds_the_side_its_normal_points_to() -> None:
    held = HalfSpace(np.array([0.0, 0, 20]), np.array([0.0, 0, 7.0])).holds(SKIN)
    np.testing.assert_array_equal(held, middles(SKIN)[:, 2] > 20.0)


def test_a_ball_holds_what_is_within_its_radius() -> None:
    held = Ball(np.array([0.0, 0, 100]), 25.0).holds(SKIN)
    away = np.linalg.norm(middles(SKIN) - [0, 0, 100], axis=1)
    np.testing.assert_array_equal(held, away < 25.0)


def test_a_lasso_is_a_prism_through_the_whole_scan() -> None:
    held = Lasso(SQUARE, DOWN).holds(SKIN)
    np.testing.assert_array_equal(held, in_square())
    np.testing.assert_array_equal(Lasso(SQUARE, DOWN, inside=False).holds(SKIN), ~in_square())


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_only_what_is_met_first_is_held_when_asked_for(way: float) -> None:
    """From above the upper half of the ball, from below the lower, and no hole in either."""
    held = Lasso(SQUARE, way * DOWN, front_only=True).holds(SKIN)
    np.testing.assert_array_equal(held, in_square() & (way * middles(SKIN)[:, 2] > 0.0))


def test_a_lasso_looks_along_any_direction() -> None:
    turn = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    turned = TriMesh(SKIN.vertices @ turn, SKIN.faces)
    held = Lasso(SQUARE @ turn, 5.0 * (DOWN @ turn), front_only=True).holds(turned)
    np.testing.assert_array_equal(held, in_square() & (middles(SKIN)[:, 2] > 0.0))


def test_a_large_face_hides_small_ones_behind_it() -> None:
    cover = TriMesh(
        np.array([[-500.0, -500, 150], [500, -500, 150], [0, 500, 150]]), np.array([[0, 1, 2]])
    )
    held = Lasso(4.0 * SQUARE, DOWN, front_only=True).holds(joined(SKIN, cover))
    assert not held[:-1].any()


def test_a_steep_wall_is_met_first_too() -> None:
    """A tube of half its length within the lasso, seen across: its near half, up to the edge."""
    skin = tube(50.0, 100.0, 2.0)
    outline = np.array([[0.0, -60, 0], [0, 60, 0], [0, 60, 50], [0, -60, 50]])
    held = Lasso(outline, np.array([-1.0, 0.0, 0.0]), front_only=True).holds(skin)
    at = middles(skin)
    wanted = (at[:, 0] > 0.0) & (at[:, 2] < 50.0)
    assert (held != wanted).sum() <= 100  # faces seen edge on, two columns of fifty
    np.testing.assert_array_equal(held[np.abs(at[:, 0]) > 2.0], wanted[np.abs(at[:, 0]) > 2.0])


def test_where_an_outline_crosses_itself_every_second_area_is_inside() -> None:
    star = np.array([[np.cos(2.4 * np.pi * k / 3), np.sin(2.4 * np.pi * k / 3)] for k in range(5)])
    points = np.array([[0.0, 0.0], [0.9, 0.0], [0.0, 0.9], [5.0, 0.0]])
    assert within(points, star).tolist() == [False, True, False, False]


@pytest.mark.parametrize(
    ("region", "what", "points"),
    [
        (Lasso(SQUARE[:2], DOWN), "lasso", 2),
        (Lasso(SQUARE[[0, 2, 0, 2]], DOWN), "lasso", 4),
        (Lasso(SQUARE, np.array([1.0, 0, 0])), "lasso", 4),
        (Lasso(SQUARE, np.zeros(3)), "lasso", 0),
        (HalfSpace(np.zeros(3), np.zeros(3)), "plane", 0),
        (Ball(np.zeros(3), 0.0), "ball", 0),
        (Ball(np.zeros(3), float("nan")), "ball", 0),
    ],
)
def test_what_holds_nothing_whatever_the_scan_is_refused(
    region: HalfSpace | Lasso | Ball, what: str, points: int
) -> None:
    with pytest.raises(EmptyRegionError) as caught:
        region.holds(sheet())
    assert (caught.value.what, caught.value.points) == (what, points)

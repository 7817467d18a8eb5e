"""Which way round three points run: the same as in fractions, however near a line they lie."""

from fractions import Fraction

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank.orientation import folded_or_flat, turning_sides

ONE = np.array([[0, 1, 2]])


def side_in_fractions(corners: FloatArray) -> int:
    """Return the side by Python's own fractions: no rounding anywhere."""
    (ax, ay), (bx, by), (cx, cy) = [[Fraction(float(v)) for v in point] for point in corners]
    area = (ax - cx) * (by - cy) - (ay - cy) * (bx - cx)
    return (area > 0) - (area < 0)


@pytest.mark.parametrize("scale", [1.0, 1e-3, 1e6, 1e-160, 1e150])
def test_points_within_rounding_of_a_line_are_told_as_fractions_tell_them(scale: float) -> None:
    """Points of a line, each moved by a few last digits: the quick sum alone errs on some."""
    random = np.random.default_rng(7)
    t = random.uniform(size=(400, 3, 1))
    corners = np.array([0.5, 0.3]) + t * np.array([12.0, 24.7])
    corners = (corners * (1.0 + random.integers(-2, 3, corners.shape) * 2.0**-52)) * scale
    told = turning_sides(corners.reshape(-1, 2), np.arange(1200).reshape(-1, 3))
    true = [side_in_fractions(points) for points in corners]
    assert told.tolist() == true
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    quick = np.sign(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    assert (quick != true).any()


def test_points_on_one_line_have_no_side_wherever_they_lie() -> None:
    """Quarters are exact in binary: moved by 2^40 they stay on their line."""
    points = np.array([[0.25, 0.5], [0.75, 1.5], [4.0, 8.0]]) + [0.0, 2.0**40]
    assert turning_sides(points, ONE).tolist() == [0]
    assert folded_or_flat(points, ONE).tolist() == [True]


def test_a_sliver_far_from_the_origin_has_its_side() -> None:
    """One last digit of height at a distance of 1e6: the area is 1e-10 of the box it lies in."""
    height = np.spacing(1e6)
    points = np.array([[1e6, 1e6], [1e6 + 1.0, 1e6], [1e6 + 0.3, 1e6 + height]])
    assert turning_sides(points, np.array([[0, 1, 2], [0, 2, 1]])).tolist() == [1, -1]
    assert folded_or_flat(points, np.array([[0, 1, 2], [0, 2, 1]])).tolist() == [False, True]


def test_turning_three_points_round_keeps_the_side_and_swapping_two_turns_it() -> None:
    points = np.random.default_rng(3).normal(size=(300, 2))
    triples = np.arange(300).reshape(-1, 3)
    sides = turning_sides(points, triples)
    np.testing.assert_array_equal(turning_sides(points, triples[:, [1, 2, 0]]), sides)
    np.testing.assert_array_equal(turning_sides(points, triples[:, [1, 0, 2]]), -sides)
    assert set(sides.tolist()) == {-1, 1}

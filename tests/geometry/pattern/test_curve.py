"""Curves measured against circles, ellipses and parabolas whose lengths are known."""

import numpy as np
import pytest
from scipy.special import ellipe

from geometry.arrays import FloatArray
from geometry.pattern import Curve, circle_curve, straight_curve
from geometry.pattern.curve import arc_centre, no_controls


def _parabola() -> Curve:
    """A parabola x^2 / 100 up to x = 100 as one cubic: control points at thirds of the tangents."""
    return Curve(
        np.array([[0.0, 0.0], [100.0, 100.0]]),
        np.zeros(1),
        np.array([[[100.0 / 3.0, 0.0], [200.0 / 3.0, 100.0 / 3.0]]]),
    )


def _mixed(*, closed: bool) -> Curve:
    """A straight piece, an arc and a cubic."""
    points = np.array([[0.0, 0.0], [80.0, 0.0], [80.0, 40.0], [10.0, 55.0]])
    bulges = np.array([0.0, 0.6, 0.0, -0.2])[: 4 if closed else 3]
    controls = no_controls(len(bulges))
    controls[2] = [[60.0, 50.0], [30.0, 20.0]]
    return Curve(points, bulges, controls, closed)


def test_the_length_of_an_arc_is_radius_times_angle() -> None:
    for turn in (1e-7, 1e-3, 0.5, 3.0, 6.0, -1.0):
        radius, ends = 350.0, np.array([0.0, turn])
        points = radius * np.stack([np.cos(ends), np.sin(ends)], axis=1)
        arc = Curve(points, np.array([np.tan(turn / 4.0)]), no_controls(1))
        assert arc.length == pytest.approx(radius * abs(turn), rel=1e-9)
        assert arc_centre(points[0], points[1], np.tan(turn / 4.0)) == pytest.approx(
            [0.0, 0.0], abs=1e-5
        )


def test_the_length_of_a_cubic_is_that_of_the_parabola_it_is() -> None:
    """Of y = x^2 / 2p up to x = a: (a r + p^2 arsinh(a / p)) / 2p, with r^2 = p^2 + a^2."""
    p, a = 50.0, 100.0
    root = np.hypot(p, a)
    exact = (a * root + p**2 * np.arcsinh(a / p)) / (2.0 * p)
    assert _parabola().length == pytest.approx(exact, abs=1e-9)


def test_a_cubic_that_turns_back_on_itself_is_measured_too() -> None:
    """Control points on one line, 0, 3, -2, 1: out to a turning point, back, and out again."""
    places = np.array([0.0, 3.0, -2.0, 1.0])
    row = np.stack([places, np.zeros(4)], axis=1)
    curve = Curve(row[[0, 3]], np.zeros(1), row[None, 1:3])
    coefficients = np.array([16.0, -24.0, 9.0, 0.0])  # x(t) by powers of t, highest first
    turns = np.roots(np.polyder(coefficients))
    stops = np.polyval(coefficients, np.sort(np.concatenate([[0.0, 1.0], turns])))
    assert curve.length == pytest.approx(np.abs(np.diff(stops)).sum(), abs=2e-3)


@pytest.mark.parametrize("closed", [True, False])
@pytest.mark.parametrize("tolerance", [0.5, 0.05, 0.005])
def test_chords_leave_the_curve_by_no_more_than_asked(closed: bool, tolerance: float) -> None:
    curve = _mixed(closed=closed)
    fine, coarse = curve.sampled(1e-7), curve.sampled(tolerance)
    off = _distances(fine, coarse, closed=closed)
    assert off.max() <= tolerance * (1.0 + 1e-3) + 1e-7
    assert off.max() > 0.2 * tolerance  # and does not draw many more than it needs
    for joint in curve.points:
        assert np.linalg.norm(coarse - joint, axis=1).min() < 1e-12


def test_every_sampled_point_of_a_flat_arc_lies_on_its_circle() -> None:
    """An arc of radius 1 km keeps its points within rounding of where they belong."""
    radius = 1e6
    ends = radius * np.array([np.sin([-1e-4, 1e-4]), np.cos([-1e-4, 1e-4]) - 1.0]).T
    arc = Curve(ends, np.array([np.tan(-2e-4 / 4.0)]), no_controls(1))
    x, y = arc.sampled(1e-5).T
    assert np.abs(y - (np.sqrt(radius**2 - x**2) - radius)).max() < 1e-9


@pytest.mark.parametrize("tolerance", [1e-1, 1e-4, 1e-8])
def test_cubics_for_arcs_stay_on_the_circle(tolerance: float) -> None:
    circle = circle_curve(np.array([30.0, -20.0]), 200.0)
    cubics = circle.as_cubics(tolerance)
    assert cubics.is_cubic.all()
    assert not cubics.bulges.any()
    radii = np.linalg.norm(cubics.sampled(tolerance / 100.0) - [30.0, -20.0], axis=1)
    assert 0.0 < radii.max() - 200.0 <= tolerance * 1.001
    assert radii.min() > 200.0 - tolerance


@pytest.mark.parametrize("closed", [True, False])
def test_a_move_a_turn_and_a_mirror_change_no_length(closed: bool) -> None:
    curve = _mixed(closed=closed)
    turn = np.array([[np.cos(0.7), -np.sin(0.7)], [np.sin(0.7), np.cos(0.7)]])
    for matrix in (np.eye(2), turn, np.diag([-1.0, 1.0]), turn @ np.diag([1.0, -1.0])):
        moved = curve.transformed(matrix, np.array([12.0, -7.0]))
        assert moved.length == pytest.approx(curve.length, abs=1e-9)
        same = curve.sampled(0.05) @ matrix.T + [12.0, -7.0]
        assert np.abs(moved.sampled(0.05) - same).max() < 1e-9


def test_a_mirror_image_bulges_to_the_other_side() -> None:
    curve = _mixed(closed=True)
    assert curve.transformed(np.diag([-1.0, 1.0])).bulges.tolist() == (-curve.bulges).tolist()


def test_a_circle_stretched_one_way_is_an_ellipse() -> None:
    """Perimeter 4 a E(e); scipy's ellipe takes the square of the eccentricity."""
    ellipse = circle_curve(np.zeros(2), 100.0).transformed(np.diag([1.02, 1.0]))
    exact = 4.0 * 102.0 * ellipe(1.0 - (100.0 / 102.0) ** 2)
    assert ellipse.length == pytest.approx(exact, abs=1e-4)
    assert ellipse.closed


@pytest.mark.parametrize("closed", [True, False])
def test_run_backwards_it_is_the_same_line(closed: bool) -> None:
    curve = _mixed(closed=closed)
    back = curve.reversed()
    assert back.length == pytest.approx(curve.length, abs=1e-9)
    there = curve.sampled(0.01)
    assert _distances(back.sampled(0.01), there, closed=closed).max() < 0.011
    again = back.reversed()
    assert np.array_equal(again.points, curve.points)
    assert np.array_equal(again.bulges, curve.bulges)
    assert np.array_equal(again.controls, curve.controls, equal_nan=True)
    assert np.array_equal(back.points[0], curve.points[0 if closed else -1])


def test_straight_pieces_are_as_long_as_their_points_say() -> None:
    square = np.array([[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [0.0, 50.0]])
    assert straight_curve(square, closed=True).length == 200.0
    assert straight_curve(square, closed=False).length == 150.0
    assert straight_curve(square, closed=True).sampled(0.01).tolist() == square.tolist()
    assert straight_curve(square, closed=True).points_per_metre == 20.0


def _distances(points: FloatArray, line: FloatArray, *, closed: bool) -> FloatArray:
    """Return how far points are from a line of straight pieces."""
    ends = np.roll(line, -1, axis=0) if closed else line[1:]
    starts = line if closed else line[:-1]
    best = np.full(len(points), np.inf)
    for start, end in zip(starts, ends, strict=True):
        step = end - start
        part = np.clip((points - start) @ step / (step @ step), 0.0, 1.0)
        best = np.minimum(best, np.linalg.norm(points - start - part[:, None] * step, axis=1))
    return best

"""Fitted curves against shapes with closed forms, measured both ways by another route."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.special import ellipe

from geometry.arrays import FloatArray, IntArray
from geometry.pattern.curve import Curve
from geometry.pattern.curve_course import found_corners
from geometry.pattern.curve_fitting import fitted_curve
from geometry.pattern.curve_runs import Outline

TOLERANCE = 0.02
KINDS: tuple[Outline, ...] = ("arcs", "splines")


def _circle(radius: float, count: int) -> FloatArray:
    angle = 2.0 * np.pi * np.arange(count) / count
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _ellipse(count: int, noise_mm: float = 0.0) -> FloatArray:
    points = _circle(1.0, count) * [300.0, 200.0]
    return points + np.random.default_rng(7).normal(0.0, noise_mm, points.shape)


def _rounded_square(side: float, radius: float, step: float) -> FloatArray:
    """Points about a step apart, where straight sides end among them."""
    half = side / 2.0 - radius
    flats, turns = round(2.0 * half / step), round(np.pi / 2.0 * radius / step)
    angle = np.pi / 2.0 * np.arange(turns) / turns
    quarter = half + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    top = np.stack([half - 2.0 * half * np.arange(flats) / flats, np.full(flats, side / 2.0)], 1)
    fourth = np.concatenate([quarter, top])
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])
    return np.concatenate([fourth @ np.linalg.matrix_power(turn, index) for index in range(4)])


def _breaks(curve: Curve) -> FloatArray:
    """Return by how much the tangent breaks at each joint, rad; ends of an open curve left out."""
    leaving, arriving = [], []
    cubic = curve.is_cubic
    for index, (start, end) in enumerate(zip(curve.starts, curve.ends, strict=True)):
        chord = end - start
        if cubic[index]:
            first, last = curve.controls[index]
            leaving.append(np.arctan2(*(first - start)[::-1]))
            arriving.append(np.arctan2(*(end - last)[::-1]))
        else:
            way, half = np.arctan2(chord[1], chord[0]), 2.0 * np.arctan(curve.bulges[index])
            leaving.append(way - half)
            arriving.append(way + half)
    turn = np.array(leaving) - np.roll(arriving, 1)
    turn = (turn + np.pi) % (2.0 * np.pi) - np.pi
    return np.asarray(np.abs(turn if curve.closed else turn[1:]))


def _farthest(points: FloatArray, line: FloatArray, *, closed: bool) -> float:
    ring = shapely.LinearRing(line) if closed else shapely.LineString(line)
    return float(shapely.distance(shapely.points(points), ring).max())


@pytest.mark.parametrize("kind", KINDS)
def test_a_circle_takes_a_handful_of_pieces_and_keeps_its_length(kind: Outline) -> None:
    """Length 2 pi r; a curve within the tolerance of a circle is off by 2 pi times it at most."""
    points = _circle(230.0, 800)
    fit = fitted_curve(points, closed=True, kind=kind)
    assert len(fit.curve.points) <= 8
    assert len(fit.corners) == 0
    assert abs(fit.curve.length - 2.0 * np.pi * 230.0) < 2.0 * np.pi * TOLERANCE
    radii = np.linalg.norm(fit.curve.sampled(1e-4), axis=1)
    assert np.abs(radii - 230.0).max() < TOLERANCE + 230.0 * (1.0 - np.cos(np.pi / 800))
    assert fit.largest_off_mm <= TOLERANCE


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("noise_mm", [0.0, 0.003])
def test_an_ellipse_keeps_its_perimeter(kind: Outline, noise_mm: float) -> None:
    """Perimeter 4 a E(e): 1586.4 mm; noise of 0.003 mm costs hardly a piece."""
    fit = fitted_curve(_ellipse(800, noise_mm), closed=True, kind=kind)
    exact = 4.0 * 300.0 * ellipe(1.0 - (200.0 / 300.0) ** 2)
    assert fit.curve.length == pytest.approx(exact, abs=0.03)
    assert len(fit.curve.points) < (70 if kind == "arcs" else 12)
    assert fit.largest_off_mm <= TOLERANCE
    assert len(fit.corners) == 0


@pytest.mark.parametrize("kind", KINDS)
def test_a_square_with_round_corners_has_none_that_are_sharp(kind: Outline) -> None:
    """Length 4 (a - 2 r) + 2 pi r."""
    points = _rounded_square(200.0, 25.0, 2.0)
    fit = fitted_curve(points, closed=True, kind=kind)
    assert len(fit.corners) == 0
    assert fit.largest_off_mm <= TOLERANCE
    assert fit.curve.length == pytest.approx(4.0 * 150.0 + 50.0 * np.pi, abs=0.05)
    assert len(fit.curve.points) <= 40
    assert _breaks(fit.curve).max() < 1e-6


@pytest.mark.parametrize("kind", KINDS)
def test_a_sharp_square_is_four_straight_sides_between_its_corners(kind: Outline) -> None:
    side = np.arange(0.0, 100.0, 2.5)
    zero = np.zeros_like(side)
    points = np.concatenate(
        [
            np.stack([side, zero], axis=1),
            np.stack([zero + 100.0, side], axis=1),
            np.stack([100.0 - side, zero + 100.0], axis=1),
            np.stack([zero, 100.0 - side], axis=1),
        ]
    )
    fit = fitted_curve(points, closed=True, kind=kind)
    assert fit.curve.points.tolist() == [[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]]
    assert fit.corners.tolist() == [0, 1, 2, 3]
    assert fit.curve.length == pytest.approx(400.0, abs=1e-9)
    assert fit.curve.points_per_metre == pytest.approx(10.0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_spiral_is_followed_and_its_ends_kept(kind: Outline) -> None:
    """Of r = a exp(b t) the length is (r1 - r0) sqrt(1 + b^2) / b."""
    b, angle = 0.2, np.linspace(0.0, 3.0 * np.pi, 700)
    radius = 40.0 * np.exp(b * angle)
    points = radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    fit = fitted_curve(points, closed=False, kind=kind)
    exact = (radius[-1] - radius[0]) * np.sqrt(1.0 + b**2) / b
    assert fit.curve.length == pytest.approx(exact, abs=0.05)
    assert fit.curve.points[[0, -1]].tolist() == points[[0, -1]].tolist()
    assert fit.corners.tolist() == [0, len(fit.curve.points) - 1]
    assert fit.largest_off_mm <= TOLERANCE
    assert not fit.curve.closed


@pytest.mark.parametrize(("kind", "least", "most"), [("arcs", 2.7, 3.5), ("splines", 4.0, 6.5)])
def test_pieces_grow_fewer_as_theory_says(kind: Outline, least: float, most: float) -> None:
    """Arcs leave a curve by the third power of their length, cubics by the fourth at least.

    A cubic whose tangents at its ends are the curve's own and whose handles are free leaves it by
    the sixth power; of arcs our own reckoning: where the curvature changes evenly, an arc differs
    from it by at most the change over its length, twice integrated. Here the tangents come from
    the points.
    """
    points = _ellipse(2000)
    sizes = np.array([4e-3, 1e-5])
    counts = [
        len(fitted_curve(points, closed=True, kind=kind, tolerance_mm=t).curve.points)
        for t in sizes
    ]
    observed = np.log(sizes[0] / sizes[1]) / np.log(counts[1] / counts[0])
    assert least < observed < most


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_told_is_what_is_measured_both_ways(kind: Outline) -> None:
    """Measured again with another library: points to curve, and curve to the line of points.

    Chords of 2 mm on radii of 133 mm and more leave a smooth curve by 0.004 mm at most.
    """
    points = _ellipse(800, 0.004)
    fit = fitted_curve(points, closed=True, kind=kind)
    line = fit.curve.sampled(1e-5)
    to_curve = _farthest(points, line, closed=True)
    to_line = _farthest(line, points, closed=True)
    assert to_curve <= fit.largest_off_mm + 1e-4
    assert to_line <= fit.largest_off_mm + 0.008
    assert max(to_curve, to_line) >= fit.largest_off_mm - 1e-3
    assert fit.largest_off_mm <= TOLERANCE


def _with_corners() -> tuple[FloatArray, IntArray]:
    """A half moon: two arcs of a circle that meet at two points, 60 degrees apart in direction."""
    one = np.linspace(np.radians(150.0), np.radians(30.0), 300)
    upper = np.stack([100.0 * np.cos(one), 100.0 * np.sin(one) - 50.0], axis=1)
    two = np.linspace(np.radians(60.0), np.radians(120.0), 250)
    radius = 100.0 * np.cos(np.radians(30.0)) / np.cos(np.radians(60.0))
    lower = radius * np.stack([np.cos(two), np.sin(two) - np.sin(two[0])], axis=1)
    return np.concatenate([upper[:-1], lower[:-1]]), np.array([0, 299])


@pytest.mark.parametrize("kind", KINDS)
def test_corners_are_found_kept_exactly_and_are_the_only_breaks(kind: Outline) -> None:
    points, corners = _with_corners()
    fit = fitted_curve(points, closed=True, kind=kind)
    assert found_corners(points, closed=True).tolist() == corners.tolist()
    assert fit.curve.points[fit.corners].tolist() == points[corners].tolist()
    broken = np.flatnonzero(_breaks(fit.curve) > 1e-6)
    assert broken.tolist() == fit.corners.tolist()


@pytest.mark.parametrize("kind", KINDS)
def test_corners_that_are_given_are_kept_exactly_too(kind: Outline) -> None:
    points = _ellipse(400)
    fit = fitted_curve(points, closed=True, kind=kind, corners=np.array([37, 240]))
    assert fit.curve.points[fit.corners].tolist() == points[[37, 240]].tolist()
    others = np.setdiff1d(np.arange(len(fit.curve.points)), fit.corners)
    assert _breaks(fit.curve)[others].max() < 1e-6


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("noise_mm", [0.0, 0.004])
def test_a_mirror_image_and_a_turn_of_the_points_give_those_of_the_curve(
    kind: Outline, noise_mm: float
) -> None:
    points = _ellipse(500, noise_mm) + [50.0, 20.0]
    fit = fitted_curve(points, closed=True, kind=kind)
    turn = np.array([[np.cos(0.9), -np.sin(0.9)], [np.sin(0.9), np.cos(0.9)]])
    for matrix in (np.diag([-1.0, 1.0]), turn):
        moved = fitted_curve(points @ matrix.T, closed=True, kind=kind)
        same = fit.curve.transformed(matrix)
        assert len(moved.curve.points) == len(same.points)
        assert np.abs(moved.curve.points - same.points).max() < 1e-6
        assert moved.largest_off_mm == pytest.approx(fit.largest_off_mm, abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_uneven_and_repeated_points_do_no_harm(kind: Outline) -> None:
    rng = np.random.default_rng(3)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 900))
    points = np.stack([300.0 * np.cos(angle), 200.0 * np.sin(angle)], axis=1)
    points = np.repeat(points, rng.integers(1, 3, len(points)), axis=0)
    fit = fitted_curve(points, closed=True, kind=kind)
    exact = 4.0 * 300.0 * ellipe(1.0 - (200.0 / 300.0) ** 2)
    assert fit.largest_off_mm <= TOLERANCE
    assert fit.curve.length == pytest.approx(exact, abs=0.06)


@pytest.mark.parametrize("kind", KINDS)
def test_a_ragged_line_is_followed_all_the_same(kind: Outline) -> None:
    """Points 0.1 mm off at random: nothing smooth will do, yet nothing is left out."""
    points = _ellipse(300, 0.1)
    fit = fitted_curve(points, closed=True, kind=kind)
    assert fit.largest_off_mm <= TOLERANCE
    assert _farthest(points, fit.curve.sampled(1e-4), closed=True) <= TOLERANCE + 1e-4


@pytest.mark.parametrize("kind", KINDS)
def test_kinks_and_a_notch_between_straight_sides_are_not_swung_round(kind: Outline) -> None:
    """Straight from kink to kink there is no sag to allow for: within 0.02 mm both ways."""
    kinks = np.array(
        [[0, 0], [40, 2], [80, 1], [120, 4], [125, 4.5], [127, 9], [129, 4.6], [170, 5], [200, 80]],
        np.float64,
    )
    steps = [
        start + (end - start) * np.arange(0.0, 1.0, 2.7 / np.hypot(*(end - start)))[:, None]
        for start, end in pairwise([*kinks, kinks[0]])
    ]
    points = np.concatenate(steps)
    fit = fitted_curve(points, closed=True, kind=kind)
    line = fit.curve.sampled(1e-5)
    assert _farthest(points, line, closed=True) <= TOLERANCE + 1e-5
    assert _farthest(line, points, closed=True) <= TOLERANCE + 1e-5
    assert len(fit.curve.points) < 40


def test_lines_of_two_points_and_of_one_are_what_they_are() -> None:
    two = fitted_curve(np.array([[0.0, 0.0], [30.0, 40.0]]), closed=False, kind="arcs")
    assert two.curve.length == 50.0
    same = fitted_curve(np.zeros((5, 2)), closed=True, kind="arcs")
    assert same.curve.length == 0.0


def test_points_that_are_no_numbers_are_refused() -> None:
    points = _circle(50.0, 40)
    points[7, 1] = np.nan
    with pytest.raises(ValueError, match="not finite"):
        fitted_curve(points, closed=True, kind="arcs")

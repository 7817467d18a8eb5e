"""The net line: offsets see no rigid movement, and their loads read the small offsets off."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank.bands.net_line import NetLine


def ellipse(half_length: float, half_width: float, points: int = 60) -> FloatArray:
    """Return the points of an ellipse, counter-clockwise."""
    angle = 2.0 * np.pi * np.arange(points) / points
    return np.stack([half_length * np.cos(angle), half_width * np.sin(angle)], axis=1)


def line_of(points: FloatArray) -> NetLine:
    return NetLine.of(points, np.arange(len(points)))


def test_turning_and_moving_as_a_whole_is_no_offset() -> None:
    points = ellipse(80.0, 30.0)
    c, s = np.cos(2.5), np.sin(2.5)
    elsewhere = points @ np.array([[c, s], [-s, c]]) + [400.0, -70.0]
    assert np.abs(line_of(points).offsets(elsewhere)).max() < 1e-12 * 400.0


def test_a_circle_grown_by_a_millimetre_stands_a_millimetre_outside() -> None:
    """The mean of two sides' normals is cos(half their turn) long, as a side moves less."""
    offsets = line_of(ellipse(50.0, 50.0)).offsets(ellipse(51.0, 51.0))
    np.testing.assert_allclose(offsets, np.cos(np.pi / 60), rtol=1e-12)


def test_a_corner_tells_the_mean_of_how_far_its_two_sides_moved() -> None:
    """Sides of 60 moved out by 2, sides of 100 not at all: 120 / 160 at each corner."""
    box = np.array([[0.0, 0], [100, 0], [100, 60], [0, 60]])
    assert line_of(box).offsets(box * [1.04, 1.0]) == pytest.approx([0.75] * 4, abs=1e-12)


def test_the_mean_offset_is_the_area_gained_over_the_length() -> None:
    """Shoelace area, of an uneven outline, with a movement small enough to be of first order."""
    random = np.random.default_rng(2)
    points = ellipse(80.0, 30.0, 40) * random.uniform(0.9, 1.1, (40, 1))
    movement = 1e-5 * random.normal(size=(40, 2))

    def area(at: FloatArray) -> float:
        x, y = at.T
        return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0

    line = line_of(points)
    gained = (area(points + movement) - area(points)) / line.length_mm
    assert line.weights @ line.small_offsets(movement[:, :, None])[:, 0] == pytest.approx(
        gained, rel=1e-4
    )


def test_small_offsets_are_the_first_order_of_offsets() -> None:
    """Second order: an error of movement^2 over size, here 1e-3^2 / 30 times a few."""
    points = ellipse(80.0, 30.0)
    movement = np.random.default_rng(0).normal(size=points.shape)
    line = line_of(points)
    small = line.small_offsets(1e-3 * movement)
    np.testing.assert_allclose(line.offsets(points + 1e-3 * movement), small, atol=3e-7)


def test_loads_read_off_the_same_offsets_and_balance() -> None:
    random = np.random.default_rng(1)
    points, parts = ellipse(80.0, 30.0), random.normal(size=(60, 3))
    movements = random.normal(size=(60, 2, 4))
    line = line_of(points)
    loads = line.loads(parts)
    read = np.einsum("kaj,kai->ji", loads, movements)
    np.testing.assert_allclose(read, parts.T @ line.small_offsets(movements), atol=1e-12)
    np.testing.assert_allclose(loads.sum(axis=0), 0.0, atol=1e-13)
    x, y = points.T
    np.testing.assert_allclose(x @ loads[:, 1] - y @ loads[:, 0], 0.0, atol=1e-11)


def test_arc_and_weights_follow_the_sides() -> None:
    box = np.array([[0.0, 0], [100, 0], [100, 60], [0, 60]])
    line = line_of(box)
    assert line.arc_mm.tolist() == [0.0, 100.0, 160.0, 260.0]
    assert line.length_mm == 320.0
    assert line.weights == pytest.approx([0.25] * 4)

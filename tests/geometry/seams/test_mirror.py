import numpy as np
import pytest

from geometry.seams import SeamGround, mirror_images, mirrored
from tests.bodies import dome


def test_a_line_mirrored_twice_is_itself() -> None:
    points = np.random.default_rng(1).normal(0, 40, (9, 3))
    plane = np.array([3.0, 1, 2]), np.array([1.0, -2, 0.5])
    back = mirror_images(mirror_images(points, *plane), *plane)
    assert back == pytest.approx(points, abs=1e-12)


def test_on_a_body_that_is_its_own_mirror_image_nothing_moves() -> None:
    """The dome's rings of 6 k points are mirrored by the plane of x into themselves."""
    ground = SeamGround(dome(60.0, 1.2, 16))
    points = ground.nearest(np.array([[40.0, 12, 45], [10, 30, 50]])).points
    other = mirrored(ground, points, np.zeros(3), np.array([3.0, 0, 0]))
    assert other.points == pytest.approx(points * [-1, 1, 1], abs=1e-9)
    assert other.off_mm.max() < 1e-9


def test_where_the_hands_differ_it_is_told_by_how_much() -> None:
    """By a plane 0.5 mm beside the middle, images lie about 1 mm sin(angle) off a dome."""
    ground = SeamGround(dome(60.0, 1.2, 40))
    points = ground.nearest(np.array([[60 * np.sin(0.8), 0, 60 * np.cos(0.8)]])).points
    other = mirrored(ground, points, np.array([0.5, 0, 0]), np.array([1.0, 0, 0]))
    assert other.off_mm[0] == pytest.approx(np.sin(0.8), abs=0.05)
    assert np.linalg.norm(other.points[0]) == pytest.approx(60.0, abs=0.05)

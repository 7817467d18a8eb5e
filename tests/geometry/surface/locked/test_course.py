"""The course of a line: places beside it, and back."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray
from geometry.surface.locked.course import Course, beside, course_along, place_at

RADIUS = 30.0


def circle(closed: bool) -> Course:
    """Return a course along a level circle, or most of one."""
    angle = np.linspace(0.0, 2.0 * np.pi if closed else 5.0, 400)
    line = RADIUS * np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    up = np.tile([0.0, 0.0, 1.0], (len(line), 1))
    return course_along(line, cKDTree(line), up, step_mm=1.5, closed=closed)


def points_near() -> FloatArray:
    """Return points within 6 mm of the circle, all round."""
    random = np.random.default_rng(5)
    angle = random.uniform(0.0, 2.0 * np.pi, 300)
    radius = RADIUS + random.uniform(-4.0, 4.0, 300)
    height = random.uniform(-4.0, 4.0, 300)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), height], axis=1)


@pytest.mark.parametrize("closed", [True, False])
def test_places_beside_a_course_are_found_and_led_back(closed: bool) -> None:
    """Across a circle walked left about is its radius outward; chords of 1.5 mm: h^2 / 8 R."""
    course, points = circle(closed), points_near()
    near = beside(course, points, 6.0)
    assert len(near.which) == (len(points) if closed else pytest.approx(300 * 5 / 6.28, rel=0.1))
    found = points[near.which]
    outward = np.hypot(found[:, 0], found[:, 1]) - RADIUS
    sag = 1.5**2 / 8.0 / RADIUS
    assert near.across == pytest.approx(outward, abs=2.0 * sag)
    assert near.height == pytest.approx(found[:, 2], abs=1e-9)
    back = place_at(course, near.station, near.across, near.height)
    inner = np.full(len(found), closed) | (
        (near.station > 0.0) & (near.station < len(course.places) - 1.0)
    )
    assert np.abs((back - found)[inner]).max() < 2.0 * sag


def test_places_past_the_ends_of_an_open_course_are_not_beside_it() -> None:
    line = np.stack([np.zeros(20), np.linspace(0.0, 30.0, 20), np.zeros(20)], axis=1)
    up = np.tile([0.0, 0.0, 1.0], (20, 1))
    course = course_along(line, cKDTree(line), up, step_mm=1.5, closed=False)
    points = np.array([[1.0, -2.0, 0.0], [1.0, 15.0, 0.0], [1.0, 32.0, 0.0], [9.0, 15.0, 0.0]])
    assert beside(course, points, 6.0).which.tolist() == [1]
    assert course.length_mm == pytest.approx(30.0)

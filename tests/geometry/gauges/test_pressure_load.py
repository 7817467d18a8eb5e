"""Pressure on a face against closed forms: what a dome carries is what its rim's disk carries."""

import numpy as np
import pytest

from geometry.gauges import pressure_load
from tests.bodies import dome


def test_a_dome_carries_what_the_disk_in_its_rim_carries() -> None:
    """Pressure times pi a^2, whatever the rise; the rim here is a polygon of its own area."""
    radius, half_angle = 300.0, np.radians(40.0)
    mesh = dome(radius, half_angle, 24)
    rim = radius * np.sin(half_angle)
    found = pressure_load(mesh.vertices, mesh.faces, 10.0)
    assert found == pytest.approx(0.01 * np.pi * rim**2, rel=2e-3)
    assert found < 0.01 * np.pi * rim**2  # a polygon within the circle


def test_a_closed_body_is_pushed_nowhere() -> None:
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]) * 100.0
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    assert pressure_load(corners, faces, 5.0) == pytest.approx(0.0, abs=1e-9)


def test_a_pound_a_square_inch_on_ten_by_twenty_inches_is_two_hundred_pounds_force() -> None:
    """1 psi = 6.894757 kPa, 1 lbf = 4.448222 N. Source: [nist811]."""
    square = np.array([[0.0, 0, 0], [10, 0, 0], [10, 20, 0], [0, 20, 0]]) * 25.4
    newton = pressure_load(square, np.array([[0, 1, 2], [0, 2, 3]]), 6.894757293168)
    assert newton / 4.4482216152605 == pytest.approx(200.0, rel=1e-9)

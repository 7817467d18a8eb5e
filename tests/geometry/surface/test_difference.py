"""Before and after in mm: the scan's points against the surface laid through them."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, part_of_mesh
from geometry.surface import working_surface
from geometry.surface.difference import difference_of
from geometry.surface.sag import sag_of_bend, sharpest_bend
from tests.geometry.surface.scans import dome_scan, sheet_scan

NOISE = 0.1


def test_the_difference_of_a_noisy_scan_is_its_noise() -> None:
    """Of a normal distribution half lies within 0.6745 and 95 in 100 within 1.96 of its width."""
    found = working_surface(dome_scan(300.0, 80.0, noise=NOISE)).difference()
    assert found.median == pytest.approx(0.6745 * NOISE, rel=0.05)
    assert found.p95 == pytest.approx(1.96 * NOISE, rel=0.08)
    assert not found.guessed.any()
    assert abs(found.off.mean()) < 0.005


def test_a_point_thrown_off_is_the_largest_and_its_place_is_told() -> None:
    scan = sheet_scan(60.0, 50.0, noise=0.02)
    points = scan.vertices.copy()
    far = int(np.argmin(np.linalg.norm(points - [30.0, 20.0, 0.0], axis=1)))
    points[far, 2] -= 1.5
    found = working_surface(TriMesh(points, scan.faces)).difference()
    np.testing.assert_array_equal(found.largest_at, points[far])
    assert found.off[far] == pytest.approx(-1.5, abs=0.3)  # the surface goes some way along
    assert found.largest == -found.off[far]


def test_guessed_places_are_told_apart() -> None:
    """A bump over a part said to be a guess: it is in the rows, and in no figure."""
    faces = np.array([[0, 1, 2], [0, 2, 3], [3, 2, 4]])
    plate = TriMesh(np.array([[0.0, 0, 0], [30, 0, 0], [30, 50, 0], [0, 50, 0], [0, 90, 0]]), faces)
    points = np.array([[5.0, 5, 0.2], [20, 40, -0.1], [5, 60, 3.0]])
    found = difference_of(points, plate, np.array([False, False, True]))
    np.testing.assert_allclose(found.off, [0.2, -0.1, 3.0])
    assert found.guessed.tolist() == [False, False, True]
    assert [found.median, found.largest] == pytest.approx([0.15, 0.2])
    whole = difference_of(points, plate, np.ones(3, bool))
    assert np.isnan([whole.median, whole.p95, whole.largest, *whole.largest_at]).all()


def test_a_filled_hole_leaves_the_difference_of_the_rest() -> None:
    whole = dome_scan(200.0, 90.0, noise=0.05)
    away = np.hypot(*whole.vertices[whole.faces].mean(axis=1)[:, :2].T)
    found = working_surface(part_of_mesh(whole, np.flatnonzero(away > 14.0))[0]).difference()
    assert found.largest < 0.4
    assert found.guessed.sum() < 200  # points at the rim


def test_the_sag_kept_with_a_surface_is_the_sag_of_its_outside() -> None:
    surface = working_surface(dome_scan(100.0, 50.0), inward_mm=0.8)
    outside = TriMesh(surface.outside, surface.mesh.faces)
    for spacing in (0.7, 2.0):
        kept = surface.sag_between_points(spacing)
        np.testing.assert_array_equal(kept, sag_of_bend(sharpest_bend(outside), spacing))

"""The working surface: noise out without shrinking, creases kept, maps that hold."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, check_manifold, face_areas, is_oriented
from geometry.surface import WorkingSurface, working_surface
from tests.geometry.surface.scans import cylinder_scan, dome_scan, sheet_scan


def area(mesh: TriMesh) -> float:
    return float(face_areas(mesh.vertices, mesh.faces).sum())


def outside_area(surface: WorkingSurface) -> float:
    return float(face_areas(surface.outside, surface.mesh.faces).sum())


def test_a_noisy_sheet_keeps_its_area_within_a_twentieth_of_a_percent() -> None:
    """White noise s at spacing h inflates a raw mesh by 2 s^2 / h^2 or more: 2 % here."""
    scan = sheet_scan(150.0, 100.0)
    assert area(scan) > 15000.0 * (1 + 2 * 0.1**2)
    assert outside_area(working_surface(scan)) == pytest.approx(15000.0, rel=5e-4)


def test_a_noisy_dome_keeps_its_radius_and_area() -> None:
    """Area over a square of a ball: the integral of R / sqrt(R^2 - x^2 - y^2), by midpoints."""
    scan = dome_scan(300.0, 100.0)
    x = (np.arange(1000) + 0.5) / 10.0 - 50.0
    truth = (300.0 / np.sqrt(300.0**2 - x[:, None] ** 2 - x**2)).sum() / 100.0
    surface = working_surface(scan)
    off = np.linalg.norm(surface.outside, axis=1) - 300.0
    assert outside_area(surface) == pytest.approx(truth, rel=5e-4)
    assert abs(off.mean()) < 0.005
    assert off.std() < 0.04


def test_a_noisy_cylinder_moved_inward_has_the_area_of_its_middle() -> None:
    """Area goes with the radius: (R - d) / R of the outside."""
    surface = working_surface(cylinder_scan(60.0, 100.0), inward_mm=0.8)
    radius = np.hypot(surface.mesh.vertices[:, 0], surface.mesh.vertices[:, 2])
    assert abs(radius.mean() - 59.2) < 0.005
    assert area(surface.mesh) == pytest.approx(10000.0 * 59.2 / 60.0, rel=5e-4)


def test_the_net_is_sound() -> None:
    surface = working_surface(dome_scan(300.0, 60.0))
    check_manifold(surface.mesh)
    assert is_oriented(surface.mesh.faces)

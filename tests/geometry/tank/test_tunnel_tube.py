"""Scanned frame tubes, against tubes that are known."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import NotATubeError, tube_from_scan
from tests.bodies import grid_faces


def _tube(noise: float) -> TriMesh:
    """Return the upper 200 degrees of a tube of radius 19.05 along (1, 0, 0.1), 180 long."""
    turn, along = np.meshgrid(np.linspace(-0.17, 3.32, 30), np.linspace(0.0, 180.0, 25))
    axis = np.array([1.0, 0.0, 0.1]) / np.hypot(1.0, 0.1)
    up = np.cross(axis, [0.0, 1.0, 0.0])
    radius = 19.05 + np.random.default_rng(5).normal(0.0, noise, turn.shape)
    places = along[..., None] * axis + radius[..., None] * (
        np.cos(turn)[..., None] * [0.0, 1.0, 0.0] + np.sin(turn)[..., None] * up
    )
    return TriMesh(places.reshape(-1, 3) + [10.0, 2.0, 60.0], grid_faces(*turn.shape))


def test_a_scanned_tube_gives_its_axis_and_diameter() -> None:
    tube = tube_from_scan(_tube(0.0), "tube.stl")
    assert tube.diameter == pytest.approx(38.1, abs=1e-5)
    assert tube.file_name == "tube.stl"
    assert tube.scatter == pytest.approx(0.0, abs=1e-4)
    start, end = np.array(tube.start), np.array(tube.end)
    np.testing.assert_allclose(start, [10.0, 2.0, 60.0], atol=1e-4)
    assert np.linalg.norm(end - start) == pytest.approx(180.0, abs=1e-4)


def test_noise_of_a_scanner_moves_it_little() -> None:
    tube = tube_from_scan(_tube(0.1), "tube.stl")
    assert tube.diameter == pytest.approx(38.1, abs=0.05)
    assert tube.scatter == pytest.approx(0.1, rel=0.1)  # what its radius was varied by


def test_what_is_no_tube_is_refused() -> None:
    x, y = (each.ravel() for each in np.meshgrid(np.arange(20.0), np.arange(20.0)))
    flat = TriMesh(np.column_stack([x, y, 0.0 * x]), grid_faces(20, 20))
    with pytest.raises(NotATubeError):
        tube_from_scan(flat, "plate.stl")
    corner = TriMesh(
        np.column_stack([x, np.minimum(y, 10.0), np.maximum(y - 10.0, 0.0)]), grid_faces(20, 20)
    )
    with pytest.raises(NotATubeError) as found:
        tube_from_scan(corner, "corner.stl")
    assert found.value.scatter_mm > 0.1 * found.value.radius_mm

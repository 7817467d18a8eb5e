"""Noise found again after it was put in, and none found where there is none."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.scan.noise import scan_noise
from tests.geometry.scan.scans import ball, box, rough, sheet, tube

BODIES = {
    "ball": ball(150.0, 30_000),  # spacing 3.1 mm
    "tube": tube(60.0, 250.0, 2.0),
    "plane": sheet(90, 90, 2.0),
}


@pytest.mark.parametrize("noise", [0.02, 0.05, 0.1, 0.2])
@pytest.mark.parametrize("body", BODIES)
def test_white_noise_is_found_within_a_tenth(body: str, noise: float) -> None:
    """2500 fits of 22 degrees of freedom, overlapping: about 2 per cent; the shape adds its own."""
    assert scan_noise(rough(BODIES[body], noise)) == pytest.approx(noise, rel=0.1)


@pytest.mark.parametrize("body", BODIES)
def test_an_exact_body_has_next_to_no_noise(body: str) -> None:
    assert scan_noise(BODIES[body]) < 0.001


def test_a_drawn_body_of_few_long_triangles_has_no_noise() -> None:
    """A tube of two rings of 64 points, R 50: its chords are 0.06 mm off, none of it noise."""
    coarse = tube(50.0, 300.0, 2 * np.pi * 50 / 64)
    ends = TriMesh(coarse.vertices, coarse.faces)
    assert scan_noise(box((600.0, 300.0, 200.0))) == 0.0
    assert scan_noise(ends) < 0.002


def test_sharp_edges_are_not_taken_for_noise() -> None:
    """A roof of 30 degrees to either side: one vertex in eight lies near the ridge."""
    flat = sheet(90, 90, 2.0)
    x, y, z = flat.vertices.T
    roof = TriMesh(np.column_stack([x, y, z - 0.577 * np.abs(x - 90.0)]), flat.faces)
    assert scan_noise(rough(roof, 0.05)) == pytest.approx(0.05, rel=0.2)


def test_the_two_sides_of_a_thin_wall_are_kept_apart() -> None:
    """Walls 1.6 mm apart, points 2 mm apart: the nearest points are often on the other side."""
    top = sheet(80, 80, 2.0)
    under = top.vertices + [0.7, 0.4, -1.6]
    mesh = TriMesh(
        np.concatenate([top.vertices, under]),
        np.concatenate([top.faces, top.faces[:, ::-1] + len(under)]),
    )
    assert scan_noise(rough(mesh, 0.05)) == pytest.approx(0.05, rel=0.1)


@pytest.mark.parametrize("size", [0.001, 1 / 25.4, 1000.0])
def test_noise_follows_the_unit_of_the_file(size: float) -> None:
    mesh = rough(BODIES["tube"], 0.1)
    other = TriMesh(mesh.vertices * size, mesh.faces)
    assert scan_noise(other) == pytest.approx(size * scan_noise(mesh), rel=1e-6)


def test_far_from_the_origin_it_is_the_same() -> None:
    mesh = rough(BODIES["plane"], 0.1)
    moved = TriMesh(mesh.vertices + [5000, -800, 12_000], mesh.faces)
    assert scan_noise(moved) == pytest.approx(scan_noise(mesh), rel=1e-6)

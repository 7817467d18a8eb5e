import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import section
from tests.geometry.mesh.small_meshes import octahedron, plane, torus, tube


def length(line: FloatArray) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def test_a_plane_square_to_a_tube_cuts_its_polygon() -> None:
    """Perimeter of a regular 48-gon: 2 n r sin(pi / n)."""
    (ring,) = section(tube(50.0, 120.0, around=48), np.array([0, 0, 33.3]), np.array([0, 0, 2.0]))
    assert (ring[0] == ring[-1]).all()
    assert ring[:, 2] == pytest.approx(33.3)
    assert length(ring) == pytest.approx(2 * 48 * 50 * np.sin(np.pi / 48), rel=1e-12)


def test_the_line_runs_counter_clockwise_about_the_metal_seen_from_the_normals_tip() -> None:
    body = tube()
    for up in (1.0, -1.0):
        (ring,) = section(body, np.array([0, 0, 33.3]), np.array([0, 0, up]))
        x, y = ring[:, 0], ring[:, 1]
        assert up * (x[:-1] * y[1:] - x[1:] * y[:-1]).sum() > 0


def test_a_plane_through_vertices_gives_each_point_once() -> None:
    body = tube(rows=13, height=120.0, around=48)
    (ring,) = section(body, np.array([0, 0, 60.0]), np.array([0, 0, 1.0]))
    assert len(ring) == 48 + 1
    assert np.linalg.norm(np.diff(ring, axis=0), axis=1).min() > 1


def test_a_torus_cut_across_gives_two_rings_and_flat_through_its_middle_two_circles() -> None:
    across = section(torus(60, 20), np.zeros(3), np.array([0.1, 1.0, 0.0]))
    assert len(across) == 2
    flat = section(torus(60, 20), np.array([0, 0, 0.01]), np.array([0, 0, 1.0]))
    assert [length(line) for line in flat] == pytest.approx(
        [2 * np.pi * 80, 2 * np.pi * 40], rel=5e-3
    )  # inscribed 36-gons are 0.13 % shorter, the torus' own polygon a little more


def test_an_open_sheet_gives_an_open_line_from_rim_to_rim() -> None:
    (line,) = section(plane(5, 4), np.array([1.3, 0, 0]), np.array([1.0, 0, 0]))
    assert sorted(line[[0, -1], 1].tolist()) == [0.0, 3.0]
    assert line[:, 0] == pytest.approx(1.3)


def test_a_plane_that_misses_or_only_touches_gives_nothing() -> None:
    ball = octahedron(2)
    assert section(ball, np.array([0, 0, 1.5]), np.array([0, 0, 1.0])) == ()
    assert section(ball, np.array([0, 0, -1.0]), np.array([0, 0, 1.0])) == ()


def test_area_inside_a_balls_section_converges_to_the_circles() -> None:
    """Area pi (r2 - h2) with r = 10, h = 4."""
    gap = []
    for level in (3, 4, 5):
        (ring,) = section(octahedron(level, 10.0), np.array([0, 0, 4.0]), np.array([0, 0, 1.0]))
        x, y = ring[:, 0], ring[:, 1]
        gap.append(84 * np.pi - (x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2)
    assert min(gap) > 0
    assert np.log2(gap[0] / gap[2]) / 2 == pytest.approx(2.0, abs=0.2)

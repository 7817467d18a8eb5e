import numpy as np
import pytest

from geometry.mesh import (
    corner_angles,
    edge_lengths,
    edge_table,
    enclosed_volume,
    euler_characteristic,
    face_areas,
    face_middles,
    face_normals,
    rims,
    vertex_normals,
)
from tests.geometry.mesh.small_meshes import mesh_of, octahedron, plane, torus, tube

BODIES = {"disk": plane(), "tube": tube(), "sphere": octahedron(3), "torus": torus()}


@pytest.mark.parametrize("body", BODIES)
def test_angles_missing_at_vertices_sum_to_the_euler_number(body: str) -> None:
    """Sum of (2 pi - angles) inside and (pi - angles) on rims is 2 pi chi, exactly on any mesh.

    Gauss-Bonnet for polyhedra (Descartes); textbook theorem, quoted from memory.
    """
    mesh = BODIES[body]
    around = np.bincount(mesh.faces.ravel(), corner_angles(mesh.vertices, mesh.faces).ravel())
    whole = np.full(len(mesh.vertices), 2 * np.pi)
    for rim in rims(mesh):
        whole[rim] = np.pi
    rounding = len(mesh.faces) * 1e-15
    assert (whole - around).sum() == pytest.approx(
        2 * np.pi * euler_characteristic(mesh.faces), abs=100 * rounding
    )


@pytest.mark.parametrize("body", BODIES)
def test_corner_angles_of_each_face_sum_to_half_a_turn(body: str) -> None:
    angles = corner_angles(BODIES[body].vertices, BODIES[body].faces)
    assert angles.sum(axis=1) == pytest.approx(np.pi, abs=1e-12)


def test_area_and_volume_of_a_sphere_converge_from_below_with_order_two() -> None:
    """4 pi r2 and 4/3 pi r3; an inscribed body is smaller, the gap falls fourfold per halving."""
    area_gap, volume_gap = [], []
    for level in (3, 4, 5):
        ball = octahedron(level, radius=10.0)
        area_gap.append(400 * np.pi - face_areas(ball.vertices, ball.faces).sum())
        volume_gap.append(4000 / 3 * np.pi - enclosed_volume(ball.vertices, ball.faces))
    for gap in (np.array(area_gap), np.array(volume_gap)):
        assert (gap > 0).all()
        assert np.log2(gap[:-1] / gap[1:]) == pytest.approx(2.0, abs=0.05)


def test_volume_changes_sign_with_the_faces_and_not_with_the_place() -> None:
    ball = octahedron(2, radius=3.0)
    volume = enclosed_volume(ball.vertices, ball.faces)
    assert enclosed_volume(ball.vertices + 1000.0, ball.faces) == pytest.approx(volume, rel=1e-11)
    assert enclosed_volume(ball.vertices, ball.faces[:, ::-1]) == pytest.approx(-volume, rel=1e-12)


def test_normals_of_a_sphere_point_along_its_radius() -> None:
    ball = octahedron(3, radius=7.0)
    off = vertex_normals(ball.vertices, ball.faces) - ball.vertices / 7.0
    longest = edge_lengths(ball.vertices, edge_table(ball.faces).edges).max()
    assert np.linalg.norm(off, axis=1).max() < longest / 7.0 / 2  # a face tilts by less than that
    middle = ball.vertices[ball.faces].mean(axis=1)
    assert ((face_normals(ball.vertices, ball.faces) * middle).sum(axis=1) > 0).all()


def test_a_face_without_area_has_no_normal_and_raises_no_warning() -> None:
    line = mesh_of([[0, 0, 0], [1, 0, 0], [2, 0, 0]], [[0, 1, 2]])
    assert face_normals(line.vertices, line.faces).tolist() == [[0.0, 0.0, 0.0]]
    assert vertex_normals(line.vertices, line.faces).tolist() == [[0.0, 0.0, 0.0]] * 3


def test_measures_follow_scale_and_ignore_turning() -> None:
    mesh = torus()
    turn, _ = np.linalg.qr(np.random.default_rng(0).normal(size=(3, 3)))
    moved = 2.5 * mesh.vertices @ turn.T + [10.0, -4.0, 3.0]
    assert face_areas(moved, mesh.faces) == pytest.approx(
        6.25 * face_areas(mesh.vertices, mesh.faces), rel=1e-12
    )
    edges = edge_table(mesh.faces).edges
    assert edge_lengths(moved, edges) == pytest.approx(
        2.5 * edge_lengths(mesh.vertices, edges), rel=1e-12
    )


def test_faces_measured_a_few_thousand_at_a_time_come_out_as_one_by_one() -> None:
    """To the last bit, whichever share of the faces is asked about."""
    mesh = octahedron(6)
    assert len(mesh.faces) > 3 * 8192
    for measure in (face_areas, face_normals, face_middles, corner_angles):
        whole = measure(mesh.vertices, mesh.faces)
        third = measure(mesh.vertices, mesh.faces[5::3])
        np.testing.assert_array_equal(whole[5::3], third)
        assert len(measure(mesh.vertices, mesh.faces[:0])) == 0

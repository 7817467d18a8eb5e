from collections.abc import Callable

import numpy as np
import pytest
import trimesh

from geometry.arrays import FloatArray
from geometry.mesh import NearestPoint, TriMesh, nearest_points
from tests.geometry.mesh.small_meshes import mesh_of, octahedron, plane, torus


def uneven() -> TriMesh:
    """Return a noisy mesh with slivers and with one face a thousand times the others."""
    rng = np.random.default_rng(3)
    ball = octahedron(3, radius=20.0)
    vertices = ball.vertices + rng.normal(0, 0.8, ball.vertices.shape)
    vertices[:40] = vertices[40:80] + 1e-4 * rng.normal(size=(40, 3))
    big = np.array([[900.0, 0, 30], [-500, 800, 30], [-500, -800, 30]])
    count = len(vertices)
    return TriMesh(
        np.concatenate([vertices, big]),
        np.concatenate([ball.faces, [[count, count + 1, count + 2]]]),
    )


def distances_by_brute_force(mesh: TriMesh, points: FloatArray) -> FloatArray:
    """Return the distances by trying every face with a general library's formula."""
    triangles = mesh.vertices[mesh.faces]
    closest_point: Callable[..., FloatArray] = trimesh.triangles.closest_point
    nearest = [
        closest_point(triangles, np.repeat(point[None], len(triangles), axis=0)) for point in points
    ]
    gap = [np.linalg.norm(n - p, axis=1).min() for n, p in zip(nearest, points, strict=True)]
    return np.array(gap)


@pytest.mark.parametrize("make", [uneven, torus, lambda: octahedron(0)])
def test_distances_are_those_of_trying_every_face(make: Callable[[], TriMesh]) -> None:
    mesh = make()
    points = np.random.default_rng(5).uniform(-60, 60, (150, 3))
    found = nearest_points(mesh, points)
    assert found.distances == pytest.approx(distances_by_brute_force(mesh, points), abs=1e-9)


def test_weights_lie_in_the_face_and_give_the_point() -> None:
    mesh = uneven()
    points = np.random.default_rng(6).uniform(-40, 40, (500, 3))
    found = NearestPoint(mesh).find(points)
    assert found.barycentric.min() >= 0
    assert found.barycentric.sum(axis=1) == pytest.approx(1.0, abs=1e-14)
    rebuilt = np.einsum("kc,kcx->kx", found.barycentric, mesh.vertices[mesh.faces[found.faces]])
    assert (rebuilt == found.points).all()


def test_points_of_the_surface_are_their_own_nearest() -> None:
    mesh = torus()
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    found = nearest_points(mesh, np.concatenate([middle, mesh.vertices]))
    assert found.distances.max() < 1e-13
    assert (found.faces[: len(middle)] == np.arange(len(middle))).all()


def test_the_middle_of_a_ball_where_every_face_is_as_near_is_answered() -> None:
    ball = octahedron(4, radius=10.0)
    found = nearest_points(ball, np.zeros((1, 3)))
    flat = np.abs(np.einsum("mx,mx->m", *_plane_of_faces(ball))).min()
    assert found.distances[0] == pytest.approx(flat, rel=1e-12)


def _plane_of_faces(mesh: TriMesh) -> tuple[FloatArray, FloatArray]:
    a, b, c = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    normal = np.cross(b - a, c - a)
    return normal / np.linalg.norm(normal, axis=1, keepdims=True), a


def test_above_beside_and_beyond_a_corner_of_a_flat_sheet() -> None:
    sheet = plane(5, 4)  # 4 x 3 mm
    found = nearest_points(sheet, np.array([[1.5, 1.2, 7], [2, -3, 4], [7, 7, 0]]))
    assert found.points == pytest.approx(np.array([[1.5, 1.2, 0], [2, 0, 0], [4, 3, 0]]))
    assert found.distances == pytest.approx([7, 5, 5])


def test_a_face_without_area_is_a_line() -> None:
    line = mesh_of([[0, 0, 0], [1, 0, 0], [2, 0, 0]], [[0, 1, 2]])
    found = nearest_points(line, np.array([[0.5, 1, 0], [5, 0, 0]]))
    assert found.distances == pytest.approx([1, 3])


def test_no_questions_give_no_answers_and_no_faces_are_refused() -> None:
    assert len(nearest_points(plane(), np.empty((0, 3))).faces) == 0
    empty = TriMesh(np.empty((0, 3)), np.empty((0, 3), np.int64))
    with pytest.raises(ValueError, match="without faces"):
        NearestPoint(empty)

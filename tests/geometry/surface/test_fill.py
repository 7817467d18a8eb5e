"""Patches over holes: exact on a plane, close on a ball, and the mesh around them untouched."""

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import (
    TriMesh,
    check_manifold,
    euler_characteristic,
    face_areas,
    face_normals,
    is_oriented,
    part_of_mesh,
    rims,
)
from geometry.surface import filled_openings
from tests.bodies import cylinder_sheet, dome, patch


def without(mesh: TriMesh, gone: BoolArray) -> TriMesh:
    return part_of_mesh(mesh, np.flatnonzero(~gone))[0]


def middles(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[mesh.faces].mean(axis=1))


def holed_dome(radius: float, hole_radius: float, rings: int) -> TriMesh:
    whole = dome(radius, 0.5, rings)
    centre = radius * np.array([np.sin(0.15), 0.0, np.cos(0.15)])
    return without(whole, np.linalg.norm(middles(whole) - centre, axis=1) < hole_radius)


def sheet_with_l_shaped_hole() -> TriMesh:
    x, y = np.meshgrid(np.arange(0.0, 61.0), np.arange(0.0, 51.0), indexing="ij")
    whole = patch(x, y, np.zeros_like(x))
    u, v = (middles(whole)[:, :2] - [30.0, 20.0]).T
    across = (abs(u) < 18) & (abs(v) < 3)
    up = (abs(u - 12) < 4) & (v > -3) & (v < 22)
    return without(whole, across | up)


def test_a_hole_in_a_plane_is_filled_flat_without_folds() -> None:
    mesh = sheet_with_l_shaped_hole()
    closed, filled, _ = filled_openings(mesh)
    assert abs(closed.vertices[:, 2]).max() == 0.0
    assert face_areas(closed.vertices, closed.faces).sum() == pytest.approx(3000.0, rel=1e-12)
    assert face_normals(closed.vertices, closed.faces)[:, 2].min() == pytest.approx(1.0)
    assert filled.sum() > 100


def test_existing_vertices_and_faces_keep_their_indices() -> None:
    mesh = holed_dome(150.0, 20.0, 30)
    closed, filled, _ = filled_openings(mesh)
    assert np.array_equal(closed.vertices[: len(mesh.vertices)], mesh.vertices)
    assert np.array_equal(closed.faces[: len(mesh.faces)], mesh.faces)
    assert not filled[: len(mesh.faces)].any()
    assert filled[len(mesh.faces) :].all()


def test_a_patch_keeps_the_winding_and_leaves_a_manifold_disk() -> None:
    closed, _, _ = filled_openings(holed_dome(150.0, 20.0, 30))
    check_manifold(closed)
    assert is_oriented(closed.faces)
    assert euler_characteristic(closed.faces) == 1


@pytest.mark.parametrize("rings", [25, 50])
def test_a_40_mm_hole_in_a_dome_of_radius_150_is_filled_within_a_twentieth(rings: int) -> None:
    """The least-bending patch over a circle is the paraboloid with the ball's slope at the rim.

    It leaves the ball by a^4 / (8 R^3) = 0.006 mm at a = 20, R = 150; the rest is the mesh's slope.
    """
    closed, filled, _ = filled_openings(holed_dome(150.0, 20.0, rings))
    added = np.unique(closed.faces[filled])
    off = np.linalg.norm(closed.vertices[added], axis=1) - 150.0
    assert abs(off).max() < 0.05


def test_a_patch_bends_with_a_cylinder() -> None:
    sheet = cylinder_sheet(100.0, 1.2, 120.0, around=60, along=60)
    mesh = without(sheet, np.linalg.norm(middles(sheet) - [60.0, 0.0, 100.0], axis=1) < 18.0)
    closed, filled, _ = filled_openings(mesh)
    added = np.unique(closed.faces[filled])
    off = np.hypot(closed.vertices[added, 1], closed.vertices[added, 2]) - 100.0
    assert abs(off).max() < 0.1


def test_every_rim_but_the_one_kept_is_closed() -> None:
    once = holed_dome(150.0, 20.0, 40)
    far = np.linalg.norm(middles(once) - [-35.0, 10.0, 145.0], axis=1) < 12.0
    mesh = without(once, far)
    assert len(rims(mesh)) == 3
    closed, _, openings = filled_openings(mesh)
    assert len(rims(closed)) == 1
    assert len(openings) == 2
    other, _, _ = filled_openings(mesh, keep_rim=1)
    assert len(rims(other)) == 1
    assert len(rims(other)[0]) == len(rims(mesh)[1])


def test_an_opening_says_where_it_is_and_how_wide() -> None:
    radius, hole = 150.0, 20.0
    mesh = without(dome(radius, 0.5, 60), np.hypot(*middles(dome(radius, 0.5, 60))[:, :2].T) < hole)
    _, _, openings = filled_openings(mesh)
    ring = np.hypot(*mesh.vertices[rims(mesh)[1]][:, :2].T)
    assert openings[0].normal == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
    assert openings[0].diameter_mm == pytest.approx(2 * ring.mean(), abs=1e-6)
    assert openings[0].centre[:2] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert openings[0].is_round


def test_a_skin_that_turns_down_into_its_hole_is_closed_by_the_least_skin() -> None:
    """A tube's end: carried on it would balloon by about its radius; the least skin is flat."""
    x, phi = np.meshgrid(np.linspace(0, 40, 14), np.linspace(0, 2 * np.pi, 61)[:-1])
    around = np.arange(60)
    a, b = around * 14, (around + 1) % 60 * 14
    tube = np.concatenate(
        [np.stack([q, q + 1, p], 1) for p, q in ((a + k, b + k) for k in range(13))]
        + [np.stack([q + 1, p + 1, p], 1) for p, q in ((a + k, b + k) for k in range(13))]
    )
    points = np.stack([x, 20 * np.cos(phi), 20 * np.sin(phi)], axis=2).reshape(-1, 3)
    closed, filled, _ = filled_openings(TriMesh(points, tube))
    added = closed.vertices[np.unique(closed.faces[filled])]
    assert np.ptp(added[:, 0]) < 1e-9


@pytest.mark.parametrize("slit_share", [1.0, 0.4])
def test_a_hole_closed_up_to_a_slit_is_filled_between_its_lips(slit_share: float) -> None:
    """No area, so no cotangents and no bending: the equations have no one answer there.

    Part of a round hole or all of it is drawn together to a straight slit, lips on each other. Each
    new vertex is a mean of its neighbours, so none lies outside the box round the rim.
    """
    x, y = np.meshgrid(np.arange(31.0), np.arange(31.0), indexing="ij")
    whole = patch(x - 15.0, y - 15.0, np.zeros_like(x))
    mesh = without(whole, np.hypot(*middles(whole)[:, :2].T) < 9.0)
    points = mesh.vertices.copy()
    rim = rims(mesh)[1]
    slit = rim[points[rim, 0] > np.quantile(points[rim, 0], 1.0 - slit_share)]
    points[slit, 1] = 0.0
    points[:, 2] = -(points[:, :2] ** 2).sum(axis=1) / 400.0
    closed, filled, _ = filled_openings(TriMesh(points, mesh.faces))
    assert len(rims(closed)) == 1
    assert filled.sum() > len(rim) - 2  # with vertices of its own
    added = closed.vertices[len(points) :]
    assert (added >= points[rim].min(axis=0) - 1e-9).all()
    assert (added <= points[rim].max(axis=0) + 1e-9).all()


def test_a_hole_of_three_edges_takes_one_triangle() -> None:
    x, y = np.meshgrid(np.arange(5.0), np.arange(5.0))
    whole = patch(x, y, np.zeros_like(x))
    one = np.zeros(len(whole.faces), bool)
    one[5] = True
    closed, filled, _ = filled_openings(without(whole, one))
    assert filled.sum() == 1
    assert face_areas(closed.vertices, closed.faces).sum() == pytest.approx(16.0)


def test_a_chord_the_mesh_already_has_is_not_made_twice() -> None:
    """A tooth whose two neighbours on the rim are joined behind it: a chord would be a fourth."""
    x, y = np.meshgrid(np.arange(9.0), np.arange(9.0), indexing="ij")
    whole = patch(x, y, np.zeros_like(x))
    centre = middles(whole)
    gone = (abs(centre[:, 0] - 4) < 2) & (abs(centre[:, 1] - 4) < 2)
    corner = np.flatnonzero(gone)[np.argmin(centre[gone].sum(axis=1))]
    gone[corner] = False
    closed, _, _ = filled_openings(without(whole, gone))
    check_manifold(closed)
    assert face_areas(closed.vertices, closed.faces).sum() == pytest.approx(64.0)

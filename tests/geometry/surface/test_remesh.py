"""Even triangles: on the surface, of the size asked, lines kept."""

import numpy as np
import pytest

from geometry.mesh import (
    check_manifold,
    edge_lengths,
    edge_table,
    euler_characteristic,
    face_areas,
    face_normals,
    is_oriented,
    rims,
)
from geometry.surface import remeshed
from geometry.surface.net import evenness
from tests.bodies import cylinder_sheet, dome, folded_tray
from tests.geometry.surface.scans import sheet_scan


@pytest.mark.parametrize("spacing", [0.7, 2.0, 5.0])
def test_edges_come_out_near_the_spacing_whatever_they_were(spacing: float) -> None:
    """Edges are split above 4/3 and collapsed below 4/5 of the spacing; sliding adds a little."""
    even = remeshed(sheet_scan(60.0, 40.0, spacing=2.0, noise=0.0), spacing_mm=spacing).mesh
    length = edge_lengths(even.vertices, edge_table(even.faces).edges)
    assert np.median(length) == pytest.approx(spacing, rel=0.1)
    assert np.percentile(length, 99) < 1.4 * spacing
    assert np.percentile(length, 1) > 0.6 * spacing


def test_triangles_are_even_and_the_net_sound() -> None:
    even = remeshed(sheet_scan(60.0, 40.0, spacing=1.0, noise=0.0), spacing_mm=3.0).mesh
    quality = evenness(even.vertices, even.faces)
    assert quality.mean() > 0.94
    assert quality.min() > 0.4
    check_manifold(even)
    assert is_oriented(even.faces)
    assert euler_characteristic(even.faces) == 1


def test_a_plane_keeps_its_outline_exactly() -> None:
    even = remeshed(sheet_scan(60.0, 40.0, noise=0.0), spacing_mm=3.0).mesh
    assert face_areas(even.vertices, even.faces).sum() == pytest.approx(2400.0, rel=1e-12)
    assert face_normals(even.vertices, even.faces)[:, 2].min() == pytest.approx(1.0)


def test_vertices_lie_on_the_mesh_given() -> None:
    """On facets of a cylinder: between the facets' middles and the radius."""
    sheet = cylinder_sheet(100.0, 1.0, 80.0, around=30, along=20)
    even = remeshed(sheet, spacing_mm=3.0).mesh
    radius = np.hypot(even.vertices[:, 1], even.vertices[:, 2])
    assert radius.max() <= 100.0 + 1e-9
    assert radius.min() >= 100.0 * np.cos(1.0 / 30 / 2) - 1e-9


def test_corners_of_a_rim_stay_where_they_were() -> None:
    scan = sheet_scan(60.0, 40.0, noise=0.0)
    even = remeshed(scan, spacing_mm=3.0)
    corners = np.array([[0.0, 0, 0], [60, 0, 0], [0, 40, 0], [60, 40, 0]])
    gap = np.linalg.norm(even.mesh.vertices[:, None] - corners, axis=2)
    assert (gap.min(axis=0) == 0.0).all()
    here = even.source_vertex[gap.argmin(axis=0)]
    assert np.array_equal(scan.vertices[here], corners)


def test_fixed_edges_keep_a_fold_sharp() -> None:
    """A tray folded at sharp edges: fixed there, its area is exact; else chords cut across."""
    tray = folded_tray(60.0, 20.0, 8)
    table = edge_table(tray.faces)
    normals = face_normals(tray.vertices, tray.faces)
    inner = table.face_count == 2
    one, two = table.faces_of_edge[inner].T
    sharp = table.edges[inner][(normals[one] * normals[two]).sum(axis=1) < 0.9]
    even = remeshed(tray, spacing_mm=3.0, fixed_edges=sharp)
    truth = face_areas(tray.vertices, tray.faces).sum()
    assert face_areas(even.mesh.vertices, even.mesh.faces).sum() == pytest.approx(truth, rel=1e-9)
    folds = edge_lengths(even.mesh.vertices, even.fixed_edges).sum()
    assert folds == pytest.approx(edge_lengths(tray.vertices, sharp).sum(), rel=1e-9)


def test_a_round_rim_keeps_its_length_within_its_chords() -> None:
    """Chords of length h on a circle of radius r are short by h^2 / (24 r^2): 1e-4 here."""
    even = remeshed(dome(150.0, 0.5, 60), spacing_mm=3.5).mesh
    rim = even.vertices[rims(even)[0]]
    length = np.linalg.norm(np.roll(rim, -1, axis=0) - rim, axis=1).sum()
    truth = 2 * np.pi * 150.0 * np.sin(0.5)
    assert 0.9995 * truth < length <= truth


def test_the_same_mesh_gives_the_same_triangles() -> None:
    scan = sheet_scan(30.0, 30.0)
    one, two = (remeshed(scan, spacing_mm=2.5).mesh for _ in range(2))
    assert np.array_equal(one.vertices, two.vertices)
    assert np.array_equal(one.faces, two.faces)

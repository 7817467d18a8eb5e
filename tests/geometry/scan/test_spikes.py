"""Spikes put in on purpose are found, and nothing else is taken."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, check_manifold, rims
from geometry.scan.spikes import without_spikes
from tests.geometry.scan.scans import rough, sheet, tube

SKIN = tube(80.0, 200.0, 2.0, sweep=4.0)


def _thrown(mesh: TriMesh, vertices: list[int], by: float, seed: int = 0) -> TriMesh:
    """Return the mesh with some vertices thrown off the skin, mostly along its normal."""
    random = np.random.default_rng(seed)
    points = mesh.vertices.copy()
    out = points[vertices] * [1, 1, 0] / 80.0 + 0.4 * random.normal(size=(len(vertices), 3))
    points[vertices] += by * out / np.linalg.norm(out, axis=1, keepdims=True)
    return TriMesh(points, mesh.faces)


@pytest.mark.parametrize("by", [3.0, 9.0])
def test_rim_vertices_off_the_skin_go_and_the_rest_stays(by: float) -> None:
    scan = rough(SKIN, 0.05)
    loop = rims(scan)[0]
    chosen = loop[[11, 90, 91, 200, 333]].tolist()
    thrown = _thrown(scan, chosen, by)
    tidy, dropped = without_spikes(thrown)
    kept = {tuple(point) for point in tidy.vertices}
    assert not any(tuple(thrown.vertices[vertex]) in kept for vertex in chosen)
    assert dropped == len(scan.faces) - len(tidy.faces)
    assert 5 <= dropped <= 25  # at most five faces each
    check_manifold(tidy)
    assert len(rims(tidy)) == 1


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.2])
def test_a_scan_without_spikes_keeps_every_face(noise: float) -> None:
    scan = rough(SKIN, noise)
    tidy, dropped = without_spikes(scan)
    assert dropped == 0
    np.testing.assert_array_equal(tidy.faces, scan.faces)


def test_a_sharp_corner_of_the_sheet_is_no_spike() -> None:
    assert without_spikes(sheet(20, 20, 2.0))[1] == 0


def test_a_long_thorn_in_the_sheets_own_plane_goes() -> None:
    flat = sheet(20, 20, 2.0)
    points = np.concatenate([flat.vertices, [[19.0, -14.0, 0.0]]])
    thorn = TriMesh(points, np.concatenate([flat.faces, [[9, 400, 10]]]))
    tidy, dropped = without_spikes(thorn)
    assert dropped == 1
    np.testing.assert_array_equal(tidy.faces, flat.faces)


def test_a_curled_in_edge_of_small_radius_is_no_spike() -> None:
    """A quarter bend of R 6 along the edge, points 2 mm apart, as on the bottom of a tank."""
    flat = sheet(30, 60, 2.0)
    x, y, _ = flat.vertices.T
    turn = np.minimum(np.maximum(y - 48.0, 0.0) / 6.0, np.pi / 2)
    beyond = np.maximum(y - 48.0 - 6.0 * np.pi / 2, 0.0)
    curled = np.column_stack(
        [x, np.minimum(y, 48.0) + 6.0 * np.sin(turn), 6.0 * (np.cos(turn) - 1.0) - beyond]
    )
    assert without_spikes(rough(TriMesh(curled, flat.faces), 0.05))[1] == 0

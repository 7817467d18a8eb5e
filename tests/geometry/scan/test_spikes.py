"""Spikes put in on purpose are found, and nothing else is taken."""

import numpy as np
import pytest

from geometry.arrays import IntArray
from geometry.mesh import (
    TriMesh,
    check_manifold,
    edge_table,
    non_manifold_vertices,
    part_of_mesh,
    piece_of_face,
    rims,
    typical_edge_length,
)
from geometry.scan import spikes
from geometry.scan.spikes import without_spikes
from tests.geometry.mesh.small_meshes import scattered_plane
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
    tidy, kept = without_spikes(thrown)
    still_there = {tuple(point) for point in tidy.vertices}
    assert not any(tuple(thrown.vertices[vertex]) in still_there for vertex in chosen)
    np.testing.assert_array_equal(tidy.vertices[tidy.faces], thrown.vertices[thrown.faces[kept]])
    dropped = len(scan.faces) - len(kept)
    assert 5 <= dropped <= 25  # at most five faces each
    check_manifold(tidy)
    assert len(rims(tidy)) == 1


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.2])
def test_a_scan_without_spikes_keeps_every_face(noise: float) -> None:
    scan = rough(SKIN, noise)
    tidy, kept = without_spikes(scan)
    assert len(kept) == len(scan.faces)
    np.testing.assert_array_equal(tidy.faces, scan.faces)


def test_a_sharp_corner_of_the_sheet_is_no_spike() -> None:
    flat = sheet(20, 20, 2.0)
    assert len(without_spikes(flat)[1]) == len(flat.faces)


def test_a_long_thorn_in_the_sheets_own_plane_goes() -> None:
    flat = sheet(20, 20, 2.0)
    points = np.concatenate([flat.vertices, [[19.0, -14.0, 0.0]]])
    thorn = TriMesh(points, np.concatenate([flat.faces, [[9, 400, 10]]]))
    tidy, kept = without_spikes(thorn)
    assert kept.tolist() == list(range(len(flat.faces)))
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
    scan = rough(TriMesh(curled, flat.faces), 0.05)
    assert len(without_spikes(scan)[1]) == len(scan.faces)


def _torn_sheet(seed: int) -> TriMesh:
    """Return a sound ragged sheet with holes, some vertices of its rims thrown off it."""
    random = np.random.default_rng(seed)
    whole = scattered_plane(900, 100.0, seed)
    middles = whole.vertices[whole.faces].mean(axis=1)
    there = random.random(len(middles)) > 0.05
    for middle in middles[random.integers(len(middles), size=4)]:
        there &= np.linalg.norm(middles - middle, axis=1) > random.uniform(4.0, 12.0)
    faces = whole.faces[there]
    while len(touching := non_manifold_vertices(faces, len(whole.vertices))):
        faces = faces[~np.isin(faces, touching).any(axis=1)]
    sheet = part_of_mesh(TriMesh(whole.vertices, faces), np.flatnonzero(piece_of_face(faces) == 0))
    points = sheet[0].vertices.copy()
    thrown = random.choice(np.unique(np.concatenate(rims(sheet[0]))), 30, replace=False)
    points[thrown] += 5.0 * random.normal(size=(30, 3))
    return TriMesh(points, sheet[0].faces)


def _left_looking_at_everything_anew(mesh: TriMesh) -> tuple[IntArray, int]:
    """Return the faces left, and after how many rounds: each over the whole of what is left."""
    kept, rounds = np.arange(len(mesh.faces)), 0
    while rounds < 10:
        table = edge_table(mesh.faces)
        rim, typical = table.edges[table.face_count == 1], typical_edge_length(mesh)
        bad = spikes._thorns(mesh, rim, typical) | spikes._off_the_skin(mesh, rim, typical)
        bad[non_manifold_vertices(mesh.faces, len(mesh.vertices))] = True
        left = np.flatnonzero(~bad[mesh.faces].any(axis=1))
        if len(left) in (0, len(kept)):
            break
        left = left[piece_of_face(mesh.faces[left]) == 0]
        mesh, kept, rounds = part_of_mesh(mesh, left)[0], kept[left], rounds + 1
    return kept, rounds


@pytest.mark.parametrize("seed", range(8))
def test_what_is_carried_from_round_to_round_is_what_a_fresh_look_finds(seed: int) -> None:
    torn = _torn_sheet(seed)
    kept, rounds = _left_looking_at_everything_anew(torn)
    assert rounds >= 2
    assert 20 < len(torn.faces) - len(kept) < 0.7 * len(torn.faces)
    tidy, found = without_spikes(torn)
    np.testing.assert_array_equal(found, kept)
    expected, _ = part_of_mesh(torn, kept)
    np.testing.assert_array_equal(tidy.faces, expected.faces)
    np.testing.assert_array_equal(tidy.vertices, expected.vertices)

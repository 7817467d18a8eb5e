"""What a panel is: every refusal names the defect and a place on it."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import NoAreaError, NotADiskError, check_disk
from geometry.blank.handle_loop import loop_round_a_handle
from geometry.blank.kind import faces_without_area
from geometry.mesh import NotOrientableError, TriMesh, edge_table, loop_length, part_of_mesh, rims
from tests.bodies import cylinder_sheet, dome, grid_faces, mesh_of, tank_top


def ring_body(around: int, across: int, reach: float, tube: float) -> TriMesh:
    """Return a closed ring (torus) about z."""
    u, v = np.meshgrid(
        2.0 * np.pi * np.arange(around + 1) / around,
        2.0 * np.pi * np.arange(across + 1) / across,
        indexing="ij",
    )
    out = reach + tube * np.cos(v)
    points = np.stack([out * np.cos(u), out * np.sin(u), tube * np.sin(v)], -1).reshape(-1, 3)
    place = np.arange(len(points)).reshape(around + 1, across + 1)
    place[-1], place[:, -1] = place[0], place[:, 0]
    whole = TriMesh(points, place.ravel()[grid_faces(around + 1, across + 1)])
    return part_of_mesh(whole, np.arange(len(whole.faces)))[0]


def near(mesh: TriMesh, place: FloatArray) -> float:
    """Return how far a place is from the nearest vertex."""
    return float(np.linalg.norm(mesh.vertices - place, axis=1).min())


def test_a_second_piece_is_pointed_at() -> None:
    one, two = tank_top(10), dome(50.0, 0.5, 3)
    away = two.vertices + [0.0, 0.0, 500.0]
    both = TriMesh(
        np.concatenate([one.vertices, away]),
        np.concatenate([one.faces, two.faces + len(one.vertices)]),
    )
    with pytest.raises(NotADiskError) as caught:
        check_disk(both)
    assert caught.value.pieces == 2
    assert caught.value.place[2] > 500.0


def test_a_tubes_rims_and_its_second_one_are_pointed_at() -> None:
    sheet = cylinder_sheet(50.0, 2.0 * np.pi, 80.0, 12, 6)
    fold = np.arange(len(sheet.vertices))
    fold[-7:] = np.arange(7)
    tube = TriMesh(sheet.vertices[:-7], fold[sheet.faces])
    with pytest.raises(NotADiskError) as caught:
        check_disk(tube)
    error = caught.value
    assert error.rim_lengths == pytest.approx([24 * 50.0 * np.sin(np.pi / 12)] * 2)
    assert sorted(error.rim_places[:, 0]) == pytest.approx([0.0, 80.0])
    np.testing.assert_array_equal(error.place, error.rim_places[1])


def test_a_tunnel_is_pointed_at_however_far_the_rest_reaches() -> None:
    """A thin handle on a large plate: the place is at the handle, not on the plate."""
    plate = tank_top(28)
    ring = ring_body(16, 8, 20.0, 4.0)
    # A ring joined to the plate by a face of each taken out and their corners shared.
    face, other = len(plate.faces) // 2, 0
    corners, theirs = plate.faces[face], ring.faces[other]
    shift = plate.vertices[corners].mean(axis=0) - ring.vertices[theirs].mean(axis=0)
    fold = np.arange(len(ring.vertices)) + len(plate.vertices)
    fold[theirs] = corners[[0, 2, 1]]
    whole = TriMesh(
        np.concatenate([plate.vertices, ring.vertices + shift]),
        np.concatenate([np.delete(plate.faces, face, 0), fold[np.delete(ring.faces, other, 0)]]),
    )
    whole, _ = part_of_mesh(whole, np.arange(len(whole.faces)))
    with pytest.raises(NotADiskError) as caught:
        check_disk(whole)
    assert caught.value.handles == 1
    middle = shift  # the ring's middle
    assert np.linalg.norm(caught.value.place - middle) < 25.0


def test_a_closed_surface_is_pointed_at_somewhere_on_it() -> None:
    ball = mesh_of(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    )
    with pytest.raises(NotADiskError) as caught:
        check_disk(ball)
    assert near(ball, caught.value.place) < 1.0
    assert caught.value.rim_places.shape == (0, 3)


@pytest.mark.parametrize(("around", "across"), [(12, 6), (30, 8), (8, 8)])
def test_the_loop_round_a_rings_section_is_closed_and_cuts_without_parting(
    around: int, across: int
) -> None:
    """On a slender ring the shortest loop is once round its section: `across` edges."""
    mesh = ring_body(around, across, 100.0, 10.0)
    loop = loop_round_a_handle(mesh)
    edges = set(map(tuple, edge_table(mesh.faces).edges.tolist()))
    steps = np.sort(np.stack([loop, np.roll(loop, -1)], axis=1), axis=1)
    assert all(tuple(step) in edges for step in steps.tolist())
    assert len(set(loop.tolist())) == len(loop)
    section = 2.0 * across * 10.0 * np.sin(np.pi / across)
    assert loop_length(mesh.vertices, loop) < 1.6 * section
    # Cut along it, the ring is still one piece: its other faces hang together over other edges.
    kept = TriMesh(mesh.vertices, mesh.faces[~np.isin(mesh.faces, loop).any(axis=1)])
    assert len(rims(part_of_mesh(kept, np.arange(len(kept.faces)))[0])) == 2


@pytest.mark.parametrize("height", [0.0, 1e-13, 1e-11])
def test_faces_too_thin_to_tell_their_sides_are_refused_with_their_places(height: float) -> None:
    thin = mesh_of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0.5, -height, 0]], [[0, 1, 2], [0, 3, 1]])
    with pytest.raises(NoAreaError) as caught:
        check_disk(thin)
    assert caught.value.faces.tolist() == [1]
    np.testing.assert_allclose(caught.value.places, [[0.5, 0.0, 0.0]], atol=1e-9)


def test_a_sliver_a_million_times_as_long_as_high_is_no_defect() -> None:
    thin = mesh_of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0.5, -1e-6, 0]], [[0, 1, 2], [0, 3, 1]])
    assert not len(faces_without_area(thin))
    assert sorted(check_disk(thin).tolist()) == [0, 1, 2, 3]


@pytest.mark.parametrize("face", [0, 150])
def test_a_face_turned_inside_out_is_refused_with_its_edges(face: int) -> None:
    mesh = tank_top(14)
    faces = mesh.faces.copy()
    faces[face] = faces[face][::-1]
    with pytest.raises(NotOrientableError) as caught:
        check_disk(TriMesh(mesh.vertices, faces))
    assert set(caught.value.edges.ravel()) <= set(faces[face].tolist())
    middle = mesh.vertices[faces[face]].mean(axis=0)
    assert np.linalg.norm(caught.value.points - middle, axis=1).max() < 12.0

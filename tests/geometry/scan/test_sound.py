"""Mending: what each fault becomes, that it is counted, and that the mesh is sound after."""

from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import IntArray
from geometry.mesh import (
    NotOrientableError,
    TriMesh,
    check_manifold,
    enclosed_volume,
    euler_characteristic,
    face_areas,
    is_oriented,
    piece_of_face,
    rims,
)
from geometry.progress import Cancelled
from geometry.scan import NoSurfaceError, RawScan, Repairs, SoundScan, read_scan, sound_mesh
from tests.geometry.scan.scans import ball, box, grid_faces, joined, sheet, tube, write_stl


def _raw(mesh: TriMesh, faces: IntArray | None = None) -> RawScan:
    """Return a mesh, or its vertices with other faces, as if read from a file."""
    chosen = mesh.faces if faces is None else faces
    return RawScan(mesh.vertices, chosen, "test", (), Path("tank.stl"))


def _area(mesh: TriMesh) -> float:
    return float(face_areas(mesh.vertices, mesh.faces).sum())


def _sound(raw: RawScan) -> SoundScan:
    scan = sound_mesh(raw)
    check_manifold(scan.mesh)
    assert is_oriented(scan.mesh.faces)
    assert len(np.unique(scan.mesh.faces)) == len(scan.mesh.vertices)
    return scan


def test_a_sound_mesh_comes_through_as_it_is() -> None:
    mesh = ball(100.0, 300)
    scan = _sound(_raw(mesh))
    np.testing.assert_array_equal(scan.mesh.vertices, mesh.vertices)
    np.testing.assert_array_equal(scan.mesh.faces, mesh.faces)
    assert scan.repairs == Repairs()
    assert scan.remarks == ()


def test_the_loose_triangles_of_an_stl_become_one_closed_ball(tmp_path: Path) -> None:
    mesh = ball(100.0, 300)
    scan = _sound(read_scan(write_stl(tmp_path / "ball.stl", mesh)))
    assert len(scan.mesh.vertices) == 300
    assert scan.repairs.joined_points == 3 * len(mesh.faces) - 300
    assert rims(scan.mesh) == ()
    assert euler_characteristic(scan.mesh.faces) == 2


def test_edges_apart_by_rounding_are_joined_and_wider_gaps_are_kept() -> None:
    half, size = sheet(5, 5), 40.0 * np.sqrt(5.0)  # two halves: 80 x 40
    for share, gap_joins in ((0.5e-6, True), (4e-6, False)):
        other = TriMesh(half.vertices + [40.0 + share * size, 0, 0], half.faces)
        scan = _sound(_raw(joined(half, other)))
        assert (piece_of_face(scan.mesh.faces).max() == 0) == gap_joins
        assert scan.repairs.joined_points == (5 if gap_joins else 0)


def test_faces_without_area_and_faces_that_stand_twice_are_counted_and_gone() -> None:
    mesh = sheet()
    extra = np.array([[0, 0, 1], [3, 3, 3], mesh.faces[4][[1, 2, 0]], mesh.faces[9][::-1]])
    scan = _sound(_raw(mesh, np.concatenate([mesh.faces, extra])))
    np.testing.assert_array_equal(scan.mesh.faces, mesh.faces)
    assert scan.repairs.flat_faces == 2
    assert scan.repairs.duplicate_faces == 2
    assert scan.remarks == scan.repairs.in_words()
    assert len(scan.remarks) == 2


def test_a_face_squashed_onto_its_neighbours_edge_is_mended_without_a_slit() -> None:
    """Vertex 4 lies on the edge 0-2; the flat face 0 2 4 is all that joins the two sides."""
    corners = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [1, 1, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 4], [0, 4, 3], [4, 2, 3]])
    scan = _sound(_raw(TriMesh(corners, faces)))
    assert scan.repairs.caps_mended == 1
    assert len(rims(scan.mesh)) == 1
    assert _area(scan.mesh) == pytest.approx(4.0)
    assert face_areas(scan.mesh.vertices, scan.mesh.faces).min() == pytest.approx(1.0)


def test_a_flat_face_at_the_rim_is_taken_out() -> None:
    corners = np.array([[0.0, 0, 0], [2, 0, 0], [1, 1, 0], [1, 0, 0]])
    scan = _sound(_raw(TriMesh(corners, np.array([[0, 3, 2], [3, 1, 2], [0, 1, 3]]))))
    assert scan.repairs.flat_faces == 1
    assert len(scan.mesh.faces) == 2


def test_faces_turned_at_random_are_turned_back() -> None:
    mesh = ball(100.0, 400)
    random = np.random.default_rng(3)
    faces = mesh.faces.copy()
    turned = random.random(len(faces)) < 0.4
    faces[turned] = faces[turned][:, ::-1]
    scan = _sound(_raw(mesh, faces))
    assert scan.repairs.faces_turned == turned.sum()
    assert enclosed_volume(scan.mesh.vertices, scan.mesh.faces) > 0


def test_a_body_inside_out_is_turned_as_a_whole() -> None:
    mesh = ball(100.0, 400)
    scan = _sound(_raw(mesh, mesh.faces[:, ::-1]))
    assert scan.repairs.pieces_turned == 1
    assert scan.repairs.faces_turned == 0
    volume = enclosed_volume(mesh.vertices, mesh.faces)
    assert enclosed_volume(scan.mesh.vertices, scan.mesh.faces) == pytest.approx(volume)


def test_an_open_half_tube_is_turned_to_face_away_from_its_hollow() -> None:
    half = tube(100.0, 300.0, 10.0, sweep=np.pi)
    scan = _sound(_raw(half, half.faces[:, ::-1]))
    assert scan.repairs.pieces_turned == 1
    assert not scan.repairs.side_unknown


def test_a_small_loose_patch_is_turned_by_the_middle_of_the_tank() -> None:
    whole = tube(100.0, 300.0, 10.0)
    patch = tube(101.0, 30.0, 10.0, sweep=0.3)
    mesh = joined(whole, TriMesh(patch.vertices, patch.faces[:, ::-1]))
    assert _sound(_raw(mesh)).repairs.pieces_turned == 1


def test_a_flat_sheet_keeps_its_face_and_says_it_cannot_tell() -> None:
    mesh = sheet()
    scan = _sound(_raw(mesh))
    np.testing.assert_array_equal(scan.mesh.faces, mesh.faces)
    assert scan.repairs.side_unknown


def test_a_fin_on_a_sheet_comes_off_and_the_sheet_stays_whole() -> None:
    mesh = sheet(6, 7)
    vertices = np.concatenate([mesh.vertices, [[35.0, 20.0, 9.0]]])
    fin = [mesh.faces[-1][0], mesh.faces[-1][1], len(mesh.vertices)]
    inner = np.array([[2 * 7 + 3, 2 * 7 + 4, len(mesh.vertices)]])
    scan = _sound(_raw(TriMesh(vertices, np.concatenate([mesh.faces, inner]))))
    assert fin is not None
    assert scan.repairs.crowded_edges == 1
    assert np.bincount(piece_of_face(scan.mesh.faces)).tolist() == [60, 1]
    assert _area(scan.mesh) == pytest.approx(_area(mesh) + 10.0 * 9.0 / 2)


def test_two_boxes_sharing_an_edge_are_parted_and_both_stay_closed() -> None:
    mesh = joined(box((10, 10, 10)), box((10, 10, 10), (10, 10, 0)))
    scan = _sound(_raw(mesh))
    assert scan.repairs.crowded_edges == 1
    assert enclosed_volume(scan.mesh.vertices, scan.mesh.faces) == pytest.approx(2000.0)
    assert _area(scan.mesh) == pytest.approx(1200.0)


def test_two_balls_that_touch_in_a_point_are_parted_there() -> None:
    one = box((10, 10, 10))
    mesh = joined(one, box((10, 10, 10), (10, 10, 10)))
    scan = _sound(_raw(mesh))
    assert scan.repairs.split_vertices == 1
    assert len(scan.mesh.vertices) == 16
    assert enclosed_volume(scan.mesh.vertices, scan.mesh.faces) == pytest.approx(2000.0)


def test_a_hundred_leaves_on_one_edge_are_cut_apart_and_lose_no_area() -> None:
    turn = np.linspace(0, 2 * np.pi, 100, endpoint=False)
    leaves = np.column_stack([np.cos(turn), np.sin(turn), np.full(100, 0.5)])
    vertices = np.concatenate([[[0.0, 0, 0], [0, 0, 1]], leaves])
    faces = np.column_stack([np.zeros(100), np.ones(100), np.arange(100) + 2]).astype(np.int64)
    scan = _sound(_raw(TriMesh(vertices, faces)))
    assert scan.repairs.crowded_edges == 1
    assert _area(scan.mesh) == pytest.approx(50.0)


def test_a_face_that_hangs_on_at_both_ends_of_a_crowded_edge_is_cut_out() -> None:
    """A bridge over one edge of a sheet whose both ends are rooted in the same sheet.

    Parting the edge alone would leave it with three faces: its ends stay what they are.
    """
    mesh = sheet(6, 7)
    low, high = 2 * 7 + 3, 2 * 7 + 4
    extra = np.array([[low, high, 42], [high, 3 * 7 + 5, 42], [2 * 7 + 2, low, 42]])
    vertices = np.concatenate([mesh.vertices, [[35.0, 30.0, 9.0]]])
    scan = _sound(_raw(TriMesh(vertices, np.concatenate([mesh.faces, extra]))))
    assert scan.repairs.crowded_edges >= 1
    assert len(scan.mesh.faces) + scan.repairs.cut_faces == 63


@pytest.mark.parametrize("seed", range(8))
def test_any_tangle_of_faces_comes_out_sound_and_every_face_is_accounted_for(seed: int) -> None:
    """Faces between vertices drawn at random: nearly every edge is crowded."""
    random = np.random.default_rng(seed)
    vertices = random.normal(size=(14, 3))
    faces = np.array([random.choice(14, 3, replace=False) for _ in range(60)])
    try:
        scan = _sound(_raw(TriMesh(vertices, faces)))
    except NotOrientableError as error:
        assert len(error.edges)  # noqa: PT017 - a one-sided tangle may be refused instead
        return
    lost = scan.repairs.cut_faces + scan.repairs.duplicate_faces + scan.repairs.one_sided_faces
    assert len(scan.mesh.faces) + lost == 60


def _moebius(columns: int = 60) -> TriMesh:
    turn = np.linspace(0, 2 * np.pi, columns, endpoint=False)
    across = np.linspace(-10, 10, 5)
    t, s = np.meshgrid(turn, across, indexing="ij")
    reach = 50 + s * np.cos(t / 2)
    points = np.stack([reach * np.cos(t), reach * np.sin(t), s * np.sin(t / 2)], axis=2)
    flat = points.reshape(-1, 3)
    faces = grid_faces(columns, 5)
    last, first = (columns - 1) * 5 + np.arange(5), np.arange(5)[::-1]
    closing = np.concatenate([last, first])[grid_faces(2, 5)]
    return TriMesh(flat, np.concatenate([faces, closing]))


def test_a_one_sided_strip_is_refused_with_the_place() -> None:
    mesh = _moebius()
    with pytest.raises(NotOrientableError) as caught:
        sound_mesh(_raw(mesh))
    assert len(caught.value.edges) == 4
    middles = mesh.vertices[caught.value.edges].mean(axis=1)
    np.testing.assert_allclose(caught.value.points, middles)


def test_a_one_sided_scrap_beside_a_tank_is_left_out_and_counted() -> None:
    strip = _moebius(20)
    whole = ball(300.0, 9000)
    scan = _sound(_raw(joined(whole, TriMesh(strip.vertices + [900, 0, 0], strip.faces))))
    assert scan.repairs.one_sided_faces == len(strip.faces)
    assert len(scan.mesh.faces) == len(whole.faces)


def test_a_file_of_flat_faces_only_has_no_surface() -> None:
    line = TriMesh(np.outer(np.arange(4.0), [1, 2, 3]), np.array([[0, 1, 2], [1, 2, 3]]))
    with pytest.raises(NoSurfaceError):
        sound_mesh(_raw(line))


def test_a_spot_has_no_surface() -> None:
    with pytest.raises(NoSurfaceError):
        sound_mesh(_raw(TriMesh(np.zeros((3, 3)), np.array([[0, 1, 2]]))))


def test_mending_moves_with_the_scan() -> None:
    """Turned, moved and in inches: the same repairs, the same faces."""
    mesh = joined(ball(300.0, 500), sheet())
    faces = np.concatenate([mesh.faces[:, ::-1], mesh.faces[:3]])
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = TriMesh(mesh.vertices @ turn / 25.4 + [3, -70, 11], mesh.faces)
    one, other = _sound(_raw(mesh, faces)), _sound(_raw(moved, faces))
    assert one.repairs == other.repairs
    np.testing.assert_array_equal(one.mesh.faces, other.mesh.faces)


def test_mending_tells_how_far_it_is_and_can_be_stopped_halfway() -> None:
    raw = _raw(ball(100.0, 300))
    seen: list[float] = []
    sound_mesh(raw, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) > 5
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        sound_mesh(raw, report=stop)

"""The shipped scan: opened by a general library, and every fault it is meant to have counted."""

from typing import NamedTuple

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

import sample_data
from sample_data import truth
from sample_data.generate import scanner, shape

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


class Opened(NamedTuple):
    """The scan as trimesh reads it, brought to the tank's frame, with what is asked often."""

    vertices: FloatArray
    faces: IntArray
    off: FloatArray  # (n,) signed distance to the true tank
    piece: IntArray  # (n,) main shell 0, rear shell 1, scrap 2


def _pieces(pairs: IntArray, count: int) -> IntArray:
    """Return which piece every vertex is in, the one with most vertices first."""
    joined = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    _, label = connected_components(joined, directed=False)
    order = np.argsort(-np.bincount(label), kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return rank[label]


@pytest.fixture(scope="module")
def scan() -> Opened:
    mesh = trimesh.load(sample_data.scan_path(), process=False)
    assert isinstance(mesh, trimesh.Trimesh)
    vertices = truth.from_file(np.asarray(mesh.vertices, dtype=np.float64))
    faces = np.asarray(mesh.faces, dtype=np.int64)
    piece = _pieces(np.asarray(mesh.edges_unique), len(vertices))
    return Opened(vertices, faces, truth.distance_to_tank(vertices), piece)


def _rim_edges(faces: IntArray) -> IntArray:
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    unique, times = np.unique(edges, axis=0, return_counts=True)
    assert times.max() == 2  # no edge with three faces
    return np.asarray(unique[times == 1])


def _lengths(scan: Opened) -> FloatArray:
    corners = scan.vertices[scan.faces]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2))


def test_scan_is_small_enough_to_ship_and_large_enough_to_be_real(scan: Opened) -> None:
    assert 110_000 < len(scan.faces) < 180_000
    assert sample_data.scan_path().stat().st_size < 6_000_000
    assert 1.8 < np.median(_lengths(scan)) < 2.4


def test_scan_is_a_plain_little_endian_float_ply() -> None:
    head = sample_data.scan_path().read_bytes()[:300]
    assert head.startswith(b"ply\nformat binary_little_endian 1.0\n")
    assert b"property float x" in head
    for unit in (b"inch", b"mm", b"comment"):
        assert unit not in head.split(b"end_header")[0]


def test_scan_is_two_shells_and_a_scrap(scan: Opened) -> None:
    assert scan.piece.max() == 2
    scrap = scan.piece[scan.faces[:, 0]] == 2
    assert scrap.sum() == 308
    assert np.abs(scan.off[scan.piece == 2]).min() > 30


def test_only_the_spikes_lie_far_from_the_true_tank(scan: Opened) -> None:
    """Noise sigma is below 0.08 mm; of 80,000 points none should pass 0.35."""
    tank = scan.piece < 2
    far = tank & (np.abs(scan.off) > 0.35)
    thrown = cKDTree(scan.vertices[far]).query_pairs(1.0)
    assert far.sum() <= scanner.SPIKES
    assert far.sum() >= scanner.SPIKES - 2  # one thrown along the edge may stay near the skin
    assert not thrown
    assert np.abs(scan.off[far]).max() < 9.5


def test_noise_is_white_and_slow_as_stated(scan: Opened) -> None:
    """Squares add: white 0.05, slow 0.03, passes about 0.05/sqrt(3) along the normal.

    Between points a few millimetres apart only the slow part and the passes are shared.
    """
    good = (scan.piece == 0) & (np.abs(scan.off) < 0.35)
    off = scan.off[good]
    pairs = cKDTree(scan.vertices[good]).query_pairs(2.5, output_type="ndarray")
    shared = float(np.mean(off[pairs[:, 0]] * off[pairs[:, 1]]))
    white = float(np.mean(off**2)) - shared
    assert np.sqrt(white) == pytest.approx(scanner.WHITE_NOISE, rel=0.05)
    assert 0.025 < np.sqrt(shared) < 0.06


def test_rear_shell_is_shifted_against_the_main_one_where_they_overlap(scan: Opened) -> None:
    """The overlap is a band about 4 mm wide all round; both shells have points in it."""
    main, rear = (scan.vertices[scan.piece == piece] for piece in (0, 1))
    ahead_main, ahead_rear = (
        p[:, 0] - scanner.OVERLAP_STATION + 0.15 * (p[:, 2] - 100.0) for p in (main, rear)
    )
    height = main[:, 2] - shape.bottom_height(main[:, 0])
    rim = np.zeros(len(scan.vertices), dtype=bool)
    rim[_rim_edges(scan.faces)] = True
    for ahead, piece, end in ((ahead_main, 0, -2.0), (ahead_rear, 1, 2.0)):
        edge = ahead[rim[scan.piece == piece] & (np.abs(ahead - end) < 6)]
        assert edge.size > 200
        assert np.median(edge) == pytest.approx(end, abs=1.0)
    for low, high in ((10, 40), (40, 70), (70, 100)):
        for sign in (-1, 1):
            for p, ahead, h in (
                (main, ahead_main, height),
                (rear, ahead_rear, rear[:, 2] - shape.bottom_height(rear[:, 0])),
            ):
                band = (np.abs(ahead) < 2) & (h > low) & (h < high) & (sign * p[:, 1] > 0)
                assert band.sum() > 10


def test_holes_are_those_intended(scan: Opened) -> None:
    """Two shells' outer rims, the scrap's, the filler, the shadow and thirteen stickers."""
    edges = _rim_edges(scan.faces)
    used, place = np.unique(edges, return_inverse=True)
    rim = _pieces(place.reshape(edges.shape), len(used))
    assert rim.max() + 1 == 3 + 1 + 1 + len(scanner.STICKERS)
    middles = np.array([scan.vertices[used[rim == r]].mean(axis=0) for r in range(rim.max() + 1)])
    near, _ = cKDTree(middles).query(scanner.sticker_centres())
    assert np.max(near) < 1.5
    near_filler, _ = cKDTree(middles).query(truth.FILLER_CENTRE)
    assert near_filler < 10.0  # the rim droops below the ridge


def test_stickers_and_shadow_hold_no_points(scan: Opened) -> None:
    tree = cKDTree(scan.vertices)
    nearest, _ = tree.query(scanner.sticker_centres())
    radius = np.array([size / 2 for _, size in scanner.STICKERS])
    assert np.all(nearest > radius - 0.2)
    assert np.all(nearest < radius + 1.8)
    middle = shape.on_skin(np.array([scanner.SHADOW_CENTRE]), rounds=20)
    inside = middle + np.array([[-12.0, 0, -1], [0, 0, 0], [12.0, 0, 1]])
    assert np.min(tree.query(shape.on_skin(inside, rounds=20))[0]) > 4.0


def test_filler_and_bottom_edge_are_scanned_to_their_true_rims(scan: Opened) -> None:
    """True rims and scanned rims lie within noise of each other."""
    edges = _rim_edges(scan.faces)
    for true_rim in (truth.filler_rim(5.0), truth.bottom_rim(20.0)):
        away, _ = cKDTree(scan.vertices[np.unique(edges)]).query(true_rim)
        assert np.median(away) < 1.1
        assert np.percentile(away, 90) < 1.6


def test_coarse_patches_have_triangles_twice_as_long(scan: Opened) -> None:
    lengths, middle = _lengths(scan).mean(axis=1), scan.vertices[scan.faces].mean(axis=1)
    usual = float(np.median(lengths))
    for centre, radius in scanner.COARSE_PATCHES:
        inside = np.linalg.norm(middle - np.array(centre), axis=1) < radius - 4
        assert inside.sum() > 100
        assert np.median(lengths[inside]) > 1.8 * usual


def test_faces_look_outward(scan: Opened) -> None:
    tank = scan.piece[scan.faces[:, 0]] < 2
    corners = scan.vertices[scan.faces[tank]]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    lean = np.einsum("ij,ij->i", normal, shape.skin(corners.mean(axis=1)).normal)
    assert np.percentile(lean, 0.1) > 0.5
    assert np.mean(lean < 0) < 1e-3

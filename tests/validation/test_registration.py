"""The centre plane against rigid registration by somebody else, and against what theory says of it.

What it is held against:

* `scipy.spatial.transform.Rotation.align_vectors` (scipy): the rotation that lays one set of
  directions onto another best. A mirror about a plane is a half turn about its normal, seen from
  the other side: I - 2 n n^T = -R(n, pi).
* S. Umeyama, "Least-squares estimation of transformation parameters between two point patterns",
  IEEE Transactions on Pattern Analysis and Machine Intelligence 13 (1991), 376-380: the example of
  three points whose best fit without a guard against mirrors is a mirror.
* Degrees of freedom: the squares left over by a least-squares fit of p numbers to m measured ones
  of scatter s come to s^2 (m - p) on the mean (any textbook of least squares).
* How many planes part a body alike: a ball has a two-parameter family of them, a body of
  revolution a one-parameter family, a flat sheet a two-parameter one. Plane geometry.
* `scipy.optimize.least_squares` with Cauchy's loss (scipy): another way to let go of what does not
  match, on raw vertices and their tangent planes instead of patches.

Real scans: where they come from stands beside them, in ../shared/data; absent, they are skipped.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray, IntArray
from geometry.datum import CentrePlane, centre_plane, plane_from_picks
from geometry.mesh import TriMesh, part_of_mesh, vertex_normals
from geometry.scan import read_scan, scaled, sound_mesh
from tests.bodies import dome, graph_patch, patch
from tests.tanks import Dent, Tank, tank

REAL = Path(__file__).resolve().parents[2] / ".." / "shared" / "data"
NO_POINTS = np.empty((0, 3))


def mirrored_pairs(count: int, noise_mm: float, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return (count, 2, 3) places and their mirror images, rough, and the plane's normal."""
    rng = np.random.default_rng(seed)
    normal = rng.normal(size=3)
    normal /= np.linalg.norm(normal)
    places = rng.uniform(-250.0, 250.0, (count, 3)) * np.array([1.0, 0.5, 0.4])
    images = places - 2.0 * ((places - 40.0) @ normal)[:, None] * normal
    pairs = np.stack([places, images], axis=1)
    return pairs + noise_mm * rng.standard_normal(pairs.shape), normal


def half_turn_by_scipy(pairs: FloatArray) -> tuple[FloatArray, float]:
    """Return axis and angle of the rotation that lays the second places, inverted, on the first."""
    one, other = pairs[:, 0] - pairs[:, 0].mean(axis=0), pairs[:, 1] - pairs[:, 1].mean(axis=0)
    turn = Rotation.align_vectors(-one, other)[0].as_rotvec()
    angle = float(np.linalg.norm(turn))
    return turn / angle, angle


@pytest.mark.parametrize("seed", range(4))
def test_exact_pairs_give_scipys_half_turn(seed: int) -> None:
    pairs, normal = mirrored_pairs(12, 0.0, seed)
    axis, angle = half_turn_by_scipy(pairs)
    assert angle == pytest.approx(np.pi, abs=1e-6)
    found = plane_from_picks(NO_POINTS, pairs).normal
    assert np.linalg.norm(np.cross(found, axis)) < 1e-7
    assert np.linalg.norm(np.cross(found, normal)) < 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_rough_pairs_give_scipys_half_turn_within_the_spread(seed: int) -> None:
    """Theirs fits a free rotation, ours a mirror: they differ by no more than the roughness."""
    pairs, normal = mirrored_pairs(200, 1.0, seed)
    axis, _ = half_turn_by_scipy(pairs)
    plane = plane_from_picks(NO_POINTS, pairs)
    assert np.linalg.norm(np.cross(plane.normal, axis)) < 3.0 * plane.spread_rad
    assert np.linalg.norm(np.cross(plane.normal, normal)) < 4.0 * plane.spread_rad
    assert plane.spread_rad < np.deg2rad(0.1)


def test_umeyamas_three_points_are_a_mirror() -> None:
    """(0,0), (1,0), (0,2) to (0,0), (-1,0), (0,2): a mirror about x = 0, with nothing left over.

    The guarded rotation is (0.832050, 0.554700; -0.554700, 0.832050), by scipy too.
    """
    one = np.array([[0.0, 0, 0], [1, 0, 0], [0, 2, 0]])
    other = np.array([[0.0, 0, 0], [-1, 0, 0], [0, 2, 0]])
    plane = plane_from_picks(NO_POINTS, np.stack([one, other], axis=1) * 100.0)
    assert np.allclose(plane.normal, [1.0, 0.0, 0.0], atol=1e-12)
    assert plane.residual_mm < 1e-9
    upright = np.array([[0.0, 0.0, 1e3]])  # keeps the turn in the plane of the three points
    guarded = Rotation.align_vectors(
        np.concatenate([other - other.mean(axis=0), upright]),
        np.concatenate([one - one.mean(axis=0), upright]),
    )[0]
    assert guarded.as_matrix()[:2, :2] == pytest.approx(
        np.array([[0.832050, 0.554700], [-0.554700, 0.832050]]), abs=1e-6
    )


def test_squares_left_over_are_those_of_three_fitted_numbers() -> None:
    """So many pairs, j, measure 3 j numbers of a mirror, which has 3: s^2 (3 j - 3) left.

    The same rule that leaves s^2 (3 N - 6) of a rigid fit. 400 trials: within 3 standard errors.
    """
    count, trials = 15, 400
    left = [
        plane_from_picks(NO_POINTS, mirrored_pairs(count, 1.0, seed)[0]).residual_mm ** 2
        for seed in range(trials)
    ]
    freedom = 3 * count - 3
    mean = np.mean(left) * 3 * count
    assert mean == pytest.approx(freedom, abs=3.0 * np.sqrt(2.0 * freedom / trials))


def test_a_tenth_of_a_degree_is_half_a_millimetre_at_300_mm() -> None:
    """0.1 degrees at a lever of 300 mm: 0.5236 mm."""
    turn = np.deg2rad(0.1)
    plane = CentrePlane(np.zeros(3), np.array([np.sin(turn), np.cos(turn), 0.0]), 0.0, 0.0)
    assert plane.off(np.array([[300.0, 0.0, 0.0]]))[0] == pytest.approx(0.5236, abs=5e-5)


def ball() -> TriMesh:
    whole = dome(100.0, 0.999 * np.pi, 40)
    return TriMesh(whole.vertices, whole.faces)


def spindle() -> TriMesh:
    """Return a body of revolution about x, thicker at one end: no plane across it."""
    x, turn = np.meshgrid(np.linspace(0, 400, 60), np.linspace(0, 2 * np.pi, 121))
    reach = 60.0 + 0.1 * x + 25.0 * np.sin(x / 90.0)
    return patch(x, reach * np.cos(turn), reach * np.sin(turn))


@pytest.mark.parametrize(
    ("body", "open_freedoms"),
    [(ball(), 2), (spindle(), 1), (graph_patch(np.zeros((30, 30)), 150.0, 150.0), 2)],
)
def test_as_many_freedoms_are_open_as_the_body_has_planes(
    body: TriMesh, open_freedoms: int
) -> None:
    """Ball: turns two ways. Body of revolution: turns about its axis. Sheet: turns and slides."""
    plane = centre_plane(body)
    told = sum(2 if "any way" in words else 1 for words in plane.weak)
    assert told == open_freedoms
    assert plane.matched_share is not None
    assert plane.matched_share > 0.94  # a square sheet turned about its middle misses its corners


def plane_by_scipy(scanned: Tank) -> tuple[FloatArray, FloatArray]:
    """Return point and normal of the plane that lays vertices, mirrored, onto tangent planes.

    By Cauchy's loss, each vertex kept to the one it met last until the next of twelve rounds;
    started 1.5 degrees and 2 mm off.
    """
    vertices = np.asarray(scanned.from_file(scanned.mesh.vertices))
    normals = vertex_normals(vertices, scanned.mesh.faces)
    tree = cKDTree(np.concatenate([vertices, 10.0 * normals], axis=1))
    middle = vertices.mean(axis=0) * [1.0, 0.0, 1.0]

    def images(values: FloatArray) -> tuple[FloatArray, FloatArray]:
        normal = np.array([values[0] / 200.0, 1.0, values[1] / 200.0])
        normal /= np.linalg.norm(normal)
        off = (vertices - middle) @ normal - values[2]
        return vertices - 2.0 * off[:, None] * normal, normal

    values = np.array([5.0, -3.0, 2.0])
    for scale in np.geomspace(2.0, 0.1, 12):
        placed, normal = images(values)
        facing = normals - 2.0 * (normals @ normal)[:, None] * normal
        apart, near = tree.query(np.concatenate([placed, 10.0 * facing], axis=1))
        seen = np.flatnonzero(np.asarray(apart) < 8.0)
        met = np.asarray(near, np.int64)[seen]

        def gaps(values: FloatArray, seen: IntArray = seen, met: IntArray = met) -> FloatArray:
            away = images(values)[0][seen] - vertices[met]
            return np.asarray(np.einsum("kx,kx->k", away, normals[met]))

        values = least_squares(gaps, values, loss="cauchy", f_scale=scale).x
    normal = images(values)[1]
    point = scanned.to_file((middle + values[2] * normal)[None])[0]
    return point, np.asarray(scanned.turn.apply(normal))


def test_a_dented_tanks_plane_is_scipys() -> None:
    """Raw vertices and another loss, by another minimiser: 0.01 degrees and 0.02 mm apart."""
    scanned = tank(5.0, noise_mm=0.1, seed=21, dents=[Dent(depth=5.0, radius=40.0)], turned=True)
    plane = centre_plane(scanned.mesh)
    point, normal = plane_by_scipy(scanned)
    turn = float(np.degrees(np.linalg.norm(np.cross(plane.normal, normal))))
    assert turn < 0.01
    assert abs(float(plane.off(point[None])[0])) < 0.02


def real_scan(name: str, mm_per_unit: float) -> TriMesh:
    path = REAL / name
    if not path.exists():
        pytest.skip("no real scans beside the project")
    return scaled(sound_mesh(read_scan(path)).mesh, mm_per_unit)


def test_a_rolled_panel_as_scanned_can_slide() -> None:
    """Swept one way to 1.74 m, 233 m the other: along its roll nothing holds a plane."""
    plane = centre_plane(real_scan("shallow_panel_scan_m.ply", 1000.0))
    assert any("slide" in words for words in plane.weak)
    assert plane.matched_share is not None
    assert plane.matched_share > 0.95


def test_a_fluted_vase_as_scanned_repeats_about_its_axis() -> None:
    """Every plane told holds the vase's axis; there are several, and that is said."""
    mesh = real_scan("plasticVase_decimated.ply", 1.0)
    plane = centre_plane(mesh)
    normals = np.stack([plane.normal, *(one.normal for one in plane.others)])
    assert len(normals) > 3
    axis = np.linalg.svd(normals)[2][2]
    assert np.abs(normals @ axis).max() < 0.02
    assert any("another" in words for words in plane.weak)


def test_a_slice_of_the_vase_has_its_own_plane() -> None:
    """Half the vase, cut along its axis, is still alike about the plane across the cut."""
    mesh = real_scan("plasticVase_decimated.ply", 1.0)
    middle = mesh.vertices.mean(axis=0)
    half, _ = part_of_mesh(
        mesh, np.flatnonzero((mesh.vertices[:, 0] > middle[0])[mesh.faces].all(axis=1))
    )
    plane = centre_plane(half)
    assert abs(plane.normal[0]) < 0.05
    assert plane.matched_share is not None
    assert plane.matched_share > 0.9


def test_a_cluttered_bench_scan_is_not_told_with_confidence() -> None:
    mesh = real_scan("bench_scan_ragged_m.ply", 1000.0)
    plane = centre_plane(mesh)
    assert any("another" in words for words in plane.weak)
    assert plane.residual_mm > 0.5
    assert plane.matched_share is not None
    assert plane.matched_share < 0.6

"""What the centre plane says of its sureness is how far it scatters, whatever the errors."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.datum import CentrePlane, centre_plane
from geometry.datum.symmetry_sureness import ANY_WAY_RAD
from geometry.mesh import TriMesh, vertex_normals
from tests.bodies import dome, graph_patch
from tests.tanks import tank

MIDDLE = np.array([300.0, 0.0, 100.0])
NEAR = CentrePlane(MIDDLE, np.array([0.0, 1.0, 0.01]), 0.0, 0.0)


def waves(points: FloatArray, reach_mm: float, seed: int) -> FloatArray:
    """Return a smooth random field of scatter 1, alike over about a reach (a Gaussian's)."""
    rng = np.random.default_rng(seed)
    along = points @ (rng.standard_normal((3, 300)) / reach_mm) + rng.uniform(0, 2 * np.pi, 300)
    return np.asarray(np.sqrt(2.0 / 300.0) * np.cos(along).sum(axis=1))


def beaten(reach_mm: float, depth_mm: float, seed: int) -> CentrePlane:
    """Return the plane of a tank whose skin is out by some depth, alike over some reach."""
    mesh = tank(6.0, noise_mm=0.05, seed=1).mesh
    normals = vertex_normals(mesh.vertices, mesh.faces)
    out = depth_mm * waves(mesh.vertices, reach_mm, seed)[:, None] * normals
    return centre_plane(TriMesh(mesh.vertices + out, mesh.faces), near=NEAR)


def over_spread(planes: list[CentrePlane]) -> tuple[float, float]:
    """Return turn and shift over their standard errors, root mean square."""
    turns = [np.linalg.norm(p.normal[[0, 2]]) / p.spread_rad for p in planes]
    shifts = [p.off(MIDDLE[None])[0] / p.spread_mm for p in planes]
    return float(np.sqrt(np.mean(np.square(turns)))), float(np.sqrt(np.mean(np.square(shifts))))


@pytest.mark.slow
@pytest.mark.parametrize(("reach", "depth"), [(15.0, 0.3), (30.0, 0.3), (30.0, 1.0), (60.0, 0.6)])
def test_errors_alike_over_tens_of_mm_are_told_as_such(reach: float, depth: float) -> None:
    """Error over standard error comes to about 1 for the shift, to sqrt(2) for the turn, of which
    the worse of two ways is told; 12 trials leave a fifth either way, and a wide reach hides some.
    """
    turn, shift = over_spread([beaten(reach, depth, seed) for seed in range(12)])
    assert 0.5 < turn < 1.9
    assert 0.5 < shift < 2.0


def test_a_skin_out_over_wider_places_is_less_sure() -> None:
    """The same depth over 30 mm instead of 8: fewer places of their own, a wider spread."""
    fine, coarse = beaten(8.0, 0.4, 3), beaten(30.0, 0.4, 3)
    assert coarse.spread_rad > 1.4 * fine.spread_rad
    assert coarse.spread_mm > 1.2 * fine.spread_mm


def test_the_spread_grows_as_the_skin_is_out() -> None:
    slight, much = beaten(20.0, 0.2, 4), beaten(20.0, 1.0, 4)
    assert 3.0 < much.spread_rad / slight.spread_rad < 7.0
    assert 3.0 < much.spread_mm / slight.spread_mm < 7.0


def test_what_is_open_is_told_unsure_too() -> None:
    ball = centre_plane(dome(100.0, 0.999 * np.pi, 40))
    assert np.degrees(ball.spread_rad) > 0.5
    assert ball.spread_mm < 0.1
    sheet = centre_plane(graph_patch(np.zeros((20, 20)), 150.0, 150.0))
    assert 0.2 < sheet.spread_rad <= ANY_WAY_RAD
    assert sheet.spread_mm > 30.0

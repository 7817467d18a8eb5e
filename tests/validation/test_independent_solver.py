"""The same panel by somebody else's solver: libigl's scalable locally injective mapping.

Source: libigl (MPL-2.0), from its registry package; its energy LOG_ARAP is the sum over formed
area of ln^2 s1 + ln^2 s2, twice this program's Hencky work with the formed weight.
"""

import igl
import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work, flatten
from geometry.blank.elements import Elements
from geometry.blank.start import fold_free_start
from geometry.mesh import TriMesh, rims
from tests.bodies import dome, tank_top, torus_patch

HENCKY = Work("hencky", "formed")


def slim(mesh: TriMesh, start: FloatArray, iterations: int) -> FloatArray:
    """Return libigl's layout after some iterations."""
    data = igl.slim_precompute(
        np.asfortranarray(mesh.vertices),
        np.asfortranarray(mesh.faces.astype(np.int32)),
        np.asfortranarray(start),
        igl.MappingEnergyType.LOG_ARAP,
        np.empty(0, np.int32),
        np.asfortranarray(np.empty((0, 2))),
        0.0,
    )
    return np.ascontiguousarray(igl.slim_solve(data, iterations))[:, :2]


def _bumpy(seed: int) -> TriMesh:
    """Return a square panel with a few smooth bumps, different for each seed."""
    random = np.random.default_rng(seed)
    mesh = tank_top(14)
    x, y, z = mesh.vertices.T.copy()
    for _ in range(4):
        cx, cy = random.uniform(-150, 150), random.uniform(-50, 50)
        z = z + random.uniform(-12, 12) * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / 1800.0)
    return TriMesh(np.stack([x, y, z], axis=1), mesh.faces)


@pytest.mark.parametrize(
    "mesh",
    [
        dome(100.0, np.radians(45), 16),
        torus_patch(300.0, 100.0, 1.0, (-1.0, 1.2), (16, 24)),
        *map(_bumpy, (1, 2, 3)),
    ],
    ids=["dome", "torus", "bumps 1", "bumps 2", "bumps 3"],
)
def test_libigl_finds_the_same_work_and_never_less(mesh: TriMesh) -> None:
    start, _ = fold_free_start(mesh, rims(mesh)[0])
    ours = flatten(mesh, HENCKY)
    elements = Elements.of(mesh)
    theirs = elements.energy(HENCKY, elements.strained(slim(mesh, start, 300)).s)
    assert ours.converged
    assert theirs == pytest.approx(ours.energy, rel=1e-6)
    assert theirs > ours.energy * (1.0 - 1e-9)

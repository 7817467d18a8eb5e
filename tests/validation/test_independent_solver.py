"""The same panel by somebody else's solver: libigl's scalable locally injective mapping.

Source: libigl (MPL-2.0), from its registry package; its energy LOG_ARAP is the sum over formed
area of ln^2 s1 + ln^2 s2, twice this program's Hencky work with the formed weight.
"""

import igl
import numpy as np
import pytest
from scipy.spatial import Delaunay
from scipy.spatial.distance import pdist

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


def _random_panel(seed: int) -> TriMesh:
    """Return a panel of random outline, random triangles and random shape, bowl or saddle at will.

    Outline: a circle of 100 with five random waves. Places: even ones shaken, joined by Delaunay's
    rule. Heights: a random quadric and six random bumps.
    """
    random = np.random.default_rng(seed)
    waves, phases = random.uniform(-8.0, 8.0, 5), random.uniform(0.0, 2.0 * np.pi, 5)

    def reach(angle: FloatArray) -> FloatArray:
        turns = np.multiply.outer(angle, np.arange(2, 7)) + phases
        out: FloatArray = 100.0 + np.cos(turns) @ waves
        return out

    spots = np.stack(np.meshgrid(*[np.arange(-130.0, 131.0, 9.0)] * 2), axis=2).reshape(-1, 2)
    spots = spots + random.uniform(-3.0, 3.0, spots.shape)
    inside = np.hypot(*spots.T) < reach(np.arctan2(spots[:, 1], spots[:, 0])) - 6.0
    angle = np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False)
    rim = reach(angle)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    flat = np.concatenate([rim, spots[inside]])
    faces = Delaunay(flat).simplices.astype(np.int64)
    middle = flat[faces].mean(axis=1)
    faces = faces[np.hypot(*middle.T) < reach(np.arctan2(middle[:, 1], middle[:, 0]))]
    one, two, three = flat[faces].transpose(1, 0, 2)
    turned = np.cross(np.pad(two - one, ((0, 0), (0, 1))), np.pad(three - one, ((0, 0), (0, 1))))
    faces = np.where(turned[:, 2:] < 0.0, faces[:, ::-1], faces)
    x, y = flat.T
    a, b, c = random.uniform(-1.0, 1.0, 3) / 300.0
    z = a * x * x + b * x * y + c * y * y
    for _ in range(6):
        cx, cy = random.uniform(-80.0, 80.0, 2)
        z = z + random.uniform(-10.0, 10.0) * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / 900.0)
    return TriMesh(np.stack([x, y, z], axis=1), faces)


@pytest.mark.parametrize(
    "mesh",
    [
        dome(100.0, np.radians(45), 16),
        torus_patch(300.0, 100.0, 1.0, (-1.0, 1.2), (16, 24)),
        *map(_bumpy, (1, 2, 3)),
        *map(_random_panel, (11, 12, 13)),
    ],
    ids=["dome", "torus", *(f"bumps {k}" for k in (1, 2, 3)), *(f"random {k}" for k in (1, 2, 3))],
)
def test_libigl_finds_the_same_work_and_never_less(mesh: TriMesh) -> None:
    start, _ = fold_free_start(mesh, rims(mesh)[0])
    ours = flatten(mesh, HENCKY)
    elements = Elements.of(mesh)
    other = slim(mesh, start, 300)
    theirs = elements.energy(HENCKY, elements.strained(other).s)
    assert ours.converged
    assert theirs == pytest.approx(ours.energy, rel=1e-6)
    assert theirs > ours.energy * (1.0 - 1e-9)
    apart, others_apart = pdist(ours.flat_vertices[ours.rim]), pdist(other[ours.rim])
    assert others_apart == pytest.approx(apart, abs=2e-4)  # mm: work grows with its square

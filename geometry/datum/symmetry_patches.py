"""The scan as even patches: where it runs, how it faces and how it curves, a few mm at a time.

Patches stand evenly by area whatever the triangles do, and take the scan's noise down; the search
for a centre plane lays them, mirrored, onto each other.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.fitting import fit_quadrics
from geometry.mesh import TriMesh, face_areas, face_normals
from geometry.progress import Report, silent

SAMPLES = 120_000
PATCHES = 20_000
_NEIGHBOURS = 28
_SAME_SIDE = 0.3
"""Cosine between normals from which two samples belong to one side of a wall."""
_FACING = 3.0
"""How many spacings one radian between normals weighs when the facing patch is looked for."""
_FARTHEST = 0.25
_RNG_SEED = 7


@dataclass(frozen=True, eq=False)
class Patches:
    """Small pieces of the surface, each a quadric.

    Attributes
    ----------
    points : (k, 3) float, mm
        From `middle`, on the fitted quadric.
    frames : (k, 3, 3) float
        Rows: two directions in the tangent plane, then the outward normal.
    curvature : (k, 3) float, 1/mm
        Second derivatives of the height in that frame: twice along u, mixed, twice along v.
    middle : (3,) float, mm
        The surface's centre of area, in the mesh's axes.
    area : float, mm2
        Each patch stands for this much.
    spacing : float, mm
        Its root.
    reach : float, mm
        How far from its point a patch was fitted.
    size : float, mm
        Root mean square distance from the middle.
    """

    points: FloatArray
    frames: FloatArray
    curvature: FloatArray
    middle: FloatArray
    area: float
    spacing: float
    reach: float
    size: float
    _tree: cKDTree = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_tree", cKDTree(self._places(self.points, self.normals)))

    @property
    def normals(self) -> FloatArray:
        """(k, 3) outward."""
        return np.asarray(self.frames[:, 2])

    def _places(self, points: FloatArray, normals: FloatArray) -> FloatArray:
        return np.concatenate([points, _FACING * self.spacing * normals], axis=1)

    def facing(self, points: FloatArray, normals: FloatArray) -> IntArray:
        """Return (j,) the patches nearest to places, those that face another way counted far.

        -1 where there is none within a quarter of the size.
        """
        places = self._places(points, normals)
        found = self._tree.query(places, distance_upper_bound=_FARTHEST * self.size)[1]
        meets = np.asarray(found, np.int64)
        return np.where(meets < len(self.points), meets, -1)

    def thinned(self, count: int) -> IntArray:
        """Return some of the patches, about so many, evenly spread."""
        if count >= len(self.points):
            return np.arange(len(self.points))
        return _one_a_cell(self.points, np.sqrt(len(self.points) / count) * self.spacing)


def patches_of(mesh: TriMesh, *, report: Report = silent) -> Patches:
    """Return a mesh, of some area, as some ten thousand patches."""
    report(0.0, "Laying patches over the scan")
    points, normals, area = _samples(mesh)
    middle = points.mean(axis=0)
    points = points - middle
    spacing = float(np.sqrt(area / PATCHES))
    chosen = _one_a_cell(points, spacing * 1.2)  # a sheet meets more cells than its area has
    report(0.3, "Laying patches over the scan")
    found = cKDTree(points).query(points[chosen], min(_NEIGHBOURS, len(points)))
    near, reach = np.asarray(found[1], np.int64), float(np.median(np.asarray(found[0])[:, -1]))
    report(0.7, "Laying patches over the scan")
    same_side = np.einsum("kjx,kx->kj", normals[near], normals[chosen]) > _SAME_SIDE
    mean_normals = (normals[near] * same_side[..., None]).sum(axis=1)
    fits = fit_quadrics(points[chosen], mean_normals, points[near], same_side.astype(np.float64))
    sound = fits.determined & (np.abs(fits.height) < reach) & ((fits.slope**2).sum(axis=1) < 1.0)
    if not sound.any():
        sound = np.ones(len(chosen), bool)
    frames, curvature = _upright(fits.frames[sound], fits.slope[sound], fits.curvature[sound])
    places = points[chosen[sound]] + fits.height[sound, None] * fits.frames[sound, 2]
    report(1.0, "Laying patches over the scan")
    return Patches(
        points=places,
        frames=frames,
        curvature=curvature,
        middle=middle,
        area=area / len(places),
        spacing=float(np.sqrt(area / len(places))),
        reach=reach,
        size=float(np.sqrt((points**2).sum(axis=1).mean())),
    )


def _samples(mesh: TriMesh) -> tuple[FloatArray, FloatArray, float]:
    """Return (k, 3) places spread evenly by area, the normals of their faces, and the area."""
    areas = face_areas(mesh.vertices, mesh.faces)
    total = np.cumsum(areas)
    rng = np.random.default_rng(_RNG_SEED)  # the same places every time
    asked = (np.arange(SAMPLES) + rng.random(SAMPLES)) * (total[-1] / SAMPLES)
    faces = np.minimum(np.searchsorted(total, asked, side="right"), len(areas) - 1)
    a, b = rng.random((2, SAMPLES))
    over = a + b > 1.0
    a, b = np.where(over, 1.0 - a, a), np.where(over, 1.0 - b, b)
    corners = mesh.vertices[mesh.faces[faces]]
    weights = np.stack([1.0 - a - b, a, b], axis=1)
    points = np.einsum("kc,kcx->kx", weights, corners)
    return points, face_normals(mesh.vertices, mesh.faces[faces]), float(total[-1])


def _one_a_cell(points: FloatArray, cell: float) -> IntArray:
    """Return the point nearest to the middle of each cell of a cubic grid that holds any."""
    scaled = points / cell
    cells = np.floor(scaled).astype(np.int64)
    cells -= cells.min(axis=0)
    span = cells.max(axis=0) + 1
    key = (cells[:, 0] * span[1] + cells[:, 1]) * span[2] + cells[:, 2]
    off = ((scaled - np.floor(scaled) - 0.5) ** 2).sum(axis=1)
    order = np.lexsort((off, key))
    first = np.ones(len(order), bool)
    first[1:] = key[order][1:] != key[order][:-1]
    return np.sort(order[first])


def _upright(
    frames: FloatArray, slope: FloatArray, curvature: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return frames turned so that their quadrics have no slope, and curvatures there."""
    rise = np.sqrt(1.0 + (slope**2).sum(axis=1))
    local = np.zeros((len(slope), 3, 3))
    local[:, 0, 0], local[:, 0, 2] = 1.0, slope[:, 0]
    local[:, 1, 1], local[:, 1, 2] = 1.0, slope[:, 1]
    local[:, 2] = np.concatenate([-slope, np.ones((len(slope), 1))], axis=1) / rise[:, None]
    # square up the two tangents, and carry the second derivatives over to them
    g = 1.0 + (slope**2)
    mixed = slope[:, 0] * slope[:, 1]
    u_length = np.sqrt(g[:, 0])
    v = local[:, 1] - (mixed / g[:, 0])[:, None] * local[:, 0]
    v_length = np.linalg.norm(v, axis=1)
    to_plane = np.zeros((len(slope), 2, 2))  # rows: new tangents in the old plane's u and v
    to_plane[:, 0, 0] = 1.0 / u_length
    to_plane[:, 1, 0] = -mixed / g[:, 0] / v_length
    to_plane[:, 1, 1] = 1.0 / v_length
    local[:, 0] /= u_length[:, None]
    local[:, 1] = v / v_length[:, None]
    second = np.stack([curvature[:, [0, 1]], curvature[:, [1, 2]]], axis=1) / rise[:, None, None]
    turned = to_plane @ second @ to_plane.transpose(0, 2, 1)
    flat = np.stack([turned[:, 0, 0], turned[:, 0, 1], turned[:, 1, 1]], axis=1)
    return local @ frames, flat

"""The fields a tank can be parted along: stations, heights, roll, beside lines, least crown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, diags_array
from scipy.sparse.linalg import spsolve
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.mesh import TriMesh, face_areas, vertex_areas, vertex_normals

ENDS = 0.06
"""Share of the area at either end of a field that is held where a line of least crown is sought."""

FLOOR = 0.1
"""How much of the mean shape counts everywhere, so that flat skin is no free way."""

LEAST_CROWN = "least crown"

BESIDE_MM = 30.0
"""A line shorter than this, or with nothing so near beside it, makes no field."""

POINT_MM = 5.0
"""Nearer to a line than this the distance is taken square to it, not to one of its points, which
are 1 mm apart."""

AXIS_HEIGHT = 0.2
"""Of the tank's height: where the lengthwise axis runs that a roll angle turns about."""


@dataclass(frozen=True, eq=False)
class Field:
    """A field over the surface.

    Attributes
    ----------
    name : str
        "station", "height", "width", "roll", "slant", "beside" or "least crown".
    values : (n,) float, mm
        As long as the way along the surface square to its level lines, on average.
    levels : (k,) float, mm
        Where it is to be parted before anywhere else; empty: anywhere.
    """

    name: str
    values: FloatArray
    levels: FloatArray

    def __post_init__(self) -> None:
        locked(self.values)
        locked(self.levels)


def parting_fields(
    mesh: TriMesh,
    shape: FloatArray,
    lines: Sequence[FloatArray] = (),
    *,
    stand_off_mm: float = 9.0,
    one_hand: bool = True,
) -> tuple[Field, ...]:
    """Return the fields.

    Parameters
    ----------
    mesh : TriMesh
        In the tank's axes: ahead, left, up.
    shape : (n,) float, 1/mm2
        How much shape there is: the size of the product of both curvatures.
    lines : sequence of (k, 3) float, mm
        Locked character lines, in the same axes.
    stand_off_mm : float
        How far beside them a seam is to run.
    one_hand : bool
        Whether the mesh is one hand of the tank; else a roll angle turns right round.
    """
    ahead, left, up = mesh.vertices.T
    over = up - (up.min() + AXIS_HEIGHT * np.ptp(up))
    roll = np.arctan2(over, np.abs(left) + 1e-9) if one_hand else np.arctan2(left, over)
    plain = [("station", ahead), ("height", up), ("width", left), ("roll", roll)]
    plain += [("slant", ahead + up), ("slant", ahead - up)]
    if not one_hand:
        plain += [("slant", one) for one in (ahead + left, ahead - left, left + up, left - up)]
    fields = [Field(name, in_mm(mesh, values), np.empty(0)) for name, values in plain]
    for values in (ahead, roll):
        calm = least_crown_field(mesh, values, shape)
        if calm is not None:
            fields.append(Field(LEAST_CROWN, in_mm(mesh, calm), np.empty(0)))
    for line in lines:
        for off in beside_fields(mesh, line):
            fields.append(Field("beside", off, np.array([-stand_off_mm, stand_off_mm])))
    return tuple(fields)


def in_mm(mesh: TriMesh, values: FloatArray) -> FloatArray:
    """Return a field times what makes its mean slope over the surface one."""
    slope = float(np.sqrt(values @ stiffness(mesh) @ values / _area(mesh)))
    return np.asarray(values / slope) if slope > 0.0 else np.zeros_like(values)


def least_crown_field(mesh: TriMesh, along: FloatArray, shape: FloatArray) -> FloatArray | None:
    """Return a field from end to end of another that falls steeply where there is least shape.

    Its level lines crowd along the way round that meets least shape: of all fields with these
    ends it has the least integral of shape times slope squared. Source: own derivation; the
    weighted Dirichlet energy stands for the least cut between both ends.
    """
    area = vertex_areas(mesh.vertices, mesh.faces)
    order = np.argsort(along)
    share = np.cumsum(area[order]) / area.sum()
    low = along <= along[order[np.searchsorted(share, ENDS)]]
    high = along >= along[order[np.searchsorted(share, 1.0 - ENDS)]]
    if not (~(low | high)).any():
        return None
    mean = float(shape @ area / area.sum())
    weight = shape[mesh.faces].mean(axis=1) / mean + FLOOR if mean > 0.0 else None
    energy = stiffness(mesh, weight)
    fixed = low | high
    value = np.where(high, 1.0, 0.0)
    free = ~fixed
    right = -(energy[free][:, fixed] @ value[fixed])
    value[free] = spsolve(energy[free][:, free].tocsc(), right)
    return value if np.isfinite(value).all() else None


def beside_fields(mesh: TriMesh, line: FloatArray) -> tuple[FloatArray, ...]:
    """Return how far each vertex lies beside a line over the surface, above 0 on its left.

    Past the line's ends it may go on in two ways, and both are returned where they differ: as
    calmly as can be, and as if the line went straight on. None of them where the line has no
    length, or nothing lies beside it.
    """
    dense = dense_along(line)
    if len(dense) < BESIDE_MM:
        return ()
    off, place = cKDTree(dense).query(mesh.vertices)
    ahead = np.gradient(dense, axis=0)[place]
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-300)
    aside = mesh.vertices - dense[place]
    aside -= (aside * ahead).sum(axis=1, keepdims=True) * ahead
    normals = vertex_normals(mesh.vertices, mesh.faces)
    side = (aside * np.cross(normals, ahead)).sum(axis=1)
    past_end = (place == 0) | (place == len(dense) - 1)
    if not (~past_end & (off < BESIDE_MM)).any():
        return ()
    square = np.linalg.norm(aside, axis=1)
    straight = np.copysign(np.where((off < POINT_MM) | past_end, square, off), side)
    if not past_end.any():
        return (straight,)
    return led_on(mesh, straight, ~past_end), straight


def dense_along(line: FloatArray) -> FloatArray:
    """Return places about 1 mm apart along a line.

    >>> dense_along(np.array([[0.0, 0, 0], [2.5, 0, 0]]))[:, 0].tolist()
    [0.0, 1.25, 2.5]
    """
    steps = np.diff(line, axis=0)
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(steps, axis=1))])
    at = np.interp(np.linspace(0.0, gone[-1], int(gone[-1]) + 1), gone, np.arange(len(line)))
    low = np.minimum(at.astype(np.int64), len(line) - 2)
    return np.asarray(line[low] + (at - low)[:, None] * steps[low])


def led_on(mesh: TriMesh, values: FloatArray, known: BoolArray) -> FloatArray:
    """Return known values led on to the other vertices, nowhere beyond what is known.

    Of all fields with these values it has the least integral of slope squared.
    """
    if known.all():
        return values
    free = ~known
    energy = stiffness(mesh)
    led = values.copy()
    led[free] = spsolve(energy[free][:, free].tocsc(), -(energy[free][:, known] @ values[known]))
    return led


def stiffness(mesh: TriMesh, weight: FloatArray | None = None) -> csr_array:
    """Return the (n, n) cotangent matrix of the Dirichlet energy, faces weighted. [pinkall1993]."""
    corner = mesh.vertices[mesh.faces]
    rows, columns, values = [], [], []
    area = 2.0 * face_areas(mesh.vertices, mesh.faces)
    scale = np.ones(len(area)) if weight is None else weight
    for k in range(3):
        a, b = corner[:, (k + 1) % 3] - corner[:, k], corner[:, (k + 2) % 3] - corner[:, k]
        half = 0.5 * scale * (a * b).sum(axis=1) / np.maximum(area, 1e-12)
        i, j = mesh.faces[:, (k + 1) % 3], mesh.faces[:, (k + 2) % 3]
        rows += [i, j]
        columns += [j, i]
        values += [half, half]
    size = len(mesh.vertices)
    off = coo_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(size, size),
    ).tocsr()
    return csr_array(diags_array(np.asarray(off.sum(axis=1)).ravel()) - off)


def _area(mesh: TriMesh) -> float:
    return float(face_areas(mesh.vertices, mesh.faces).sum())


def even_levels(values: FloatArray, count: int) -> FloatArray:
    """Return levels evenly between the least and the greatest value.

    >>> even_levels(np.array([1.0, 9.0, 3.0]), 3).tolist()
    [3.0, 5.0, 7.0]
    """
    return np.linspace(values.min(), values.max(), count + 2)[1:-1]


def area_levels(values: FloatArray, areas: FloatArray, count: int) -> FloatArray:
    """Return levels that part the area into even shares."""
    order = np.argsort(values)
    share = np.cumsum(areas[order]) / areas.sum()
    return np.asarray(np.interp(np.arange(1, count + 1) / (count + 1), share, values[order]))

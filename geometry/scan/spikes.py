"""Vertices a scanner throws out along its edges: thorns, or faces off the skin."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import fit_quadrics
from geometry.mesh import (
    TriMesh,
    corner_angles,
    edge_lengths,
    non_manifold_vertices,
    part_of_mesh,
    vertex_normals,
)
from geometry.scan.pairing import (
    OPEN,
    SideArray,
    next_side,
    partners,
    partners_kept,
    piece_of_each_face,
)

_ROUNDS = 10
_THORN_ANGLE = np.radians(40.0)
_THORN_EDGE = 2.0
_NEIGHBOURS = 24
_REACH = 6.0
"""In typical edges: how far away a neighbour may lie and still tell where the skin goes."""
_OFF_SKIN = 0.75
"""In typical edges, and at least `_OFF_NOISE` times the neighbours' own misfit."""
_OFF_NOISE = 8.0


def without_spikes(mesh: TriMesh, partner: SideArray | None = None) -> tuple[TriMesh, IntArray]:
    """Return a sound piece without the spikes along its rims, and which faces are left of it.

    A spike is a rim vertex at which the sheet comes to a point of under 40 degrees between edges
    twice as long as most; or one that stands off the skin its inner neighbours make by three
    quarters of an edge and eight times their misfit. Its faces go, and whatever then hangs by one
    vertex or comes loose.

    Parameters
    ----------
    mesh : TriMesh
    partner : (3m,) int
        Partners of its sides, where they are at hand.
    """
    partner = partners(mesh.faces) if partner is None else partner
    kept = np.arange(len(mesh.faces))
    torn = np.zeros(len(mesh.vertices), bool)
    for _ in range(_ROUNDS):
        rim = _sides(mesh.faces, partner == OPEN)
        typical = _typical_edge(mesh, partner)
        bad = _thorns(mesh, rim, typical) | _off_the_skin(mesh, rim, typical)
        bad[pinched(mesh.faces, torn)] = True
        left: BoolArray = np.asarray(~bad[mesh.faces].any(axis=1))
        if left.all() or not left.any():
            break
        left[left] = piece_of_each_face(partners_kept(partner, left)) == 0
        torn = np.zeros(len(mesh.vertices), bool)
        torn[mesh.faces[~left]] = True
        partner, kept = partners_kept(partner, left), kept[left]
        mesh, vertex_of_left = part_of_mesh(mesh, np.flatnonzero(left))
        torn = torn[vertex_of_left]
    return mesh, kept


def _sides(faces: IntArray, which: BoolArray) -> IntArray:
    """Return some sides as (k, 2) vertices."""
    side = np.flatnonzero(which)
    return np.stack([faces.ravel()[side], faces.ravel()[next_side(side)]], axis=1)


def _typical_edge(mesh: TriMesh, partner: SideArray) -> float:
    """Return the median length of edges, each counted once."""
    once = partner < np.arange(len(partner), dtype=np.int32)
    return float(np.median(edge_lengths(mesh.vertices, _sides(mesh.faces, once))))


def _thorns(mesh: TriMesh, rim: IntArray, typical: float) -> BoolArray:
    shortest = np.full(len(mesh.vertices), np.inf)
    np.minimum.at(shortest, rim.ravel(), np.repeat(edge_lengths(mesh.vertices, rim), 2))
    faces = mesh.faces[np.isfinite(shortest)[mesh.faces].any(axis=1)]
    angles = corner_angles(mesh.vertices, faces)
    at_vertex = np.bincount(faces.ravel(), angles.ravel(), minlength=len(mesh.vertices))
    long_edges = np.isfinite(shortest) & (shortest > _THORN_EDGE * typical)
    return np.asarray(long_edges & (at_vertex < _THORN_ANGLE))


def _off_the_skin(mesh: TriMesh, rim: IntArray, typical: float) -> BoolArray:
    off = np.zeros(len(mesh.vertices), bool)
    on_rim = off.copy()
    on_rim[rim] = True
    outer, inner = np.flatnonzero(on_rim), np.flatnonzero(~on_rim)
    if not len(outer) or len(inner) < _NEIGHBOURS:
        return off
    places: FloatArray = mesh.vertices[outer]
    found = cKDTree(mesh.vertices[inner]).query(places, _NEIGHBOURS)
    distance, near = np.asarray(found[0], np.float64), np.asarray(found[1], np.int64)
    weights = (distance < _REACH * typical + distance[:, :1]).astype(np.float64)
    around = np.zeros(len(mesh.vertices), bool)
    around[inner[near]] = True
    faces = mesh.faces[around[mesh.faces].any(axis=1)]
    normals = vertex_normals(mesh.vertices, faces)[inner[near]]
    weights *= np.einsum("kjd,kd->kj", normals, normals[:, 0]) > 0.0
    fits = fit_quadrics(
        places, (normals * weights[..., None]).sum(axis=1), mesh.vertices[inner[near]], weights
    )
    away = np.abs(fits.height) / np.sqrt(1.0 + (fits.slope**2).sum(axis=1))
    far = away > np.maximum(_OFF_SKIN * typical, _OFF_NOISE * fits.residual_rms)
    off[outer[far & fits.determined]] = True
    return off


def pinched(faces: IntArray, torn: BoolArray) -> IntArray:
    """Return which of the torn vertices are places where parts of the sheet only touch.

    The piece came sound: nowhere else can that have come about.
    """
    around = faces[torn[faces].any(axis=1)]
    touching = non_manifold_vertices(around, len(torn))
    return touching[torn[touching]]

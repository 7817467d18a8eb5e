"""Vertices a scanner throws out along its edges: thorns, or faces off the skin."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.fitting import fit_quadrics
from geometry.mesh import (
    EdgeTable,
    NonManifoldError,
    TriMesh,
    check_manifold,
    corner_angles,
    edge_lengths,
    edge_table,
    part_of_mesh,
    piece_of_face,
    vertex_normals,
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


def without_spikes(mesh: TriMesh) -> tuple[TriMesh, int]:
    """Return a piece without the spikes along its rims, and how many faces went with them."""
    kept = faces_without_spikes(mesh)
    if len(kept) == len(mesh.faces):
        return mesh, 0
    return part_of_mesh(mesh, kept)[0], len(mesh.faces) - len(kept)


def faces_without_spikes(mesh: TriMesh) -> IntArray:
    """Return the faces of a piece that are left without the spikes along its rims.

    A spike is a rim vertex at which the sheet comes to a point of under 40 degrees between edges
    twice as long as most; or one that stands off the skin its inner neighbours make by three
    quarters of an edge and eight times their misfit. Its faces go, and whatever then hangs by one
    vertex or comes loose.
    """
    kept = np.arange(len(mesh.faces))
    for turn in range(_ROUNDS):
        table = edge_table(mesh.faces)
        typical = float(np.median(edge_lengths(mesh.vertices, table.edges)))
        spike = _thorns(mesh, table, typical) | _off_the_skin(mesh, table, typical)
        bad = spike[mesh.faces].any(axis=1)
        if turn:  # the piece came sound; what was taken out may leave parts that only touch
            bad |= _hanging(mesh)
        if not bad.any() or bad.all():
            break
        left = np.flatnonzero(~bad)
        left = left[piece_of_face(mesh.faces[left]) == 0]
        mesh, kept = part_of_mesh(mesh, left)[0], kept[left]
    return kept


def _thorns(mesh: TriMesh, table: EdgeTable, typical: float) -> BoolArray:
    rim = table.edges[table.face_count == 1]
    shortest = np.full(len(mesh.vertices), np.inf)
    np.minimum.at(shortest, rim.ravel(), np.repeat(edge_lengths(mesh.vertices, rim), 2))
    faces = mesh.faces[np.isfinite(shortest)[mesh.faces].any(axis=1)]
    angles = corner_angles(mesh.vertices, faces)
    at_vertex = np.bincount(faces.ravel(), angles.ravel(), minlength=len(mesh.vertices))
    long_edges = np.isfinite(shortest) & (shortest > _THORN_EDGE * typical)
    return np.asarray(long_edges & (at_vertex < _THORN_ANGLE))


def _off_the_skin(mesh: TriMesh, table: EdgeTable, typical: float) -> BoolArray:
    off = np.zeros(len(mesh.vertices), bool)
    on_rim = off.copy()
    on_rim[table.edges[table.face_count == 1]] = True
    rim, inner = np.flatnonzero(on_rim), np.flatnonzero(~on_rim)
    if not len(rim) or len(inner) < _NEIGHBOURS:
        return off
    places: FloatArray = mesh.vertices[rim]
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
    off[rim[far & fits.determined]] = True
    return off


def _hanging(mesh: TriMesh) -> BoolArray:
    """Return the faces at vertices where parts of the sheet only touch."""
    try:
        check_manifold(mesh)
    except NonManifoldError as error:
        return np.asarray(np.isin(mesh.faces, error.vertices).any(axis=1))
    return np.zeros(len(mesh.faces), bool)

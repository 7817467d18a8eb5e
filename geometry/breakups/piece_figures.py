"""What one piece under study costs: an estimate in a few milliseconds, and its blank of least work.

Laying a sheet of crown K flat with angles kept asks for log stretches u with lap u = -K, nothing
along the rim; work goes with their squares. Over a hundred pieces of the sample tank, from flat
to deep, the least work came to 0.09 to 0.18 times the integral of u^2, so that estimate tells
which partings are worth laying flat for real. Source: [benchen2008] for u; the rest own trials.
"""

from dataclasses import dataclass
from math import nan, sin

import numpy as np
from scipy.sparse.linalg import splu

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank import (
    CollapsedBlankError,
    FlatPanel,
    NoAreaError,
    NoFoldFreeStartError,
    NotADiskError,
    Standing,
    flatten,
)
from geometry.breakups.fields import stiffness
from geometry.breakups.lift_out import SQUARE_RAD, all_round
from geometry.breakups.panel_figures import gone_beyond, smallest_rectangle
from geometry.breakups.piece import Piece, joined_mesh, rim_edges_of
from geometry.mesh import (
    BadMeshError,
    NonManifoldError,
    TriMesh,
    face_areas,
    face_normals,
    vertex_areas,
)

WORK_OF_SQUARES = 0.12
"""Least work over the integral of u^2."""

REFUSED = 0.05
"""Mean work a piece that cannot be laid flat is reckoned with: more than any that can."""

OVERLAP_MM2 = 1e-6

FULLY_PAST = 0.2
"""Sine of the angle past square, some 12 degrees, from which a face counts in full as locked."""

_IN_PLANE = np.stack(
    [
        [np.cos(turn), 0.0, np.sin(turn)]
        for turn in np.linspace(0.0, 2.0 * np.pi, 36, endpoint=False)
    ]
)
_ALL_ROUND = all_round(120)


@dataclass(frozen=True)
class PieceFigures:
    """What a piece costs.

    Attributes
    ----------
    work : float, mm2
        Least work, as `geometry.blank.FlatPanel.energy`, or an estimate of it.
    stretch, shrink : float
        Formed over flat: what 1 part in 100 of the area goes beyond; 1 where there is none.
    long_mm, wide_mm : float
        The least rectangle round the net line.
    locked : float, mm2
        About what the female form holds it by, the way it comes out best; see `held_by_form`.
    stands : bool
        Whether it can be laid flat in one piece at all, soundly and without lying over itself.
    """

    work: float
    stretch: float
    shrink: float
    long_mm: float
    wide_mm: float
    locked: float
    stands: bool


def estimated_figures(piece: Piece, *, joined: bool) -> PieceFigures:
    """Return roughly what a piece costs; only its work is told, and whether it is a disk."""
    faces, size = piece.faces, len(piece.vertices)
    rim = rim_edges_of(faces)
    on_plane = piece.on_plane[rim].all(axis=1) if joined else np.zeros(len(rim), bool)
    chains = len(np.unique(rim[on_plane])) - int(on_plane.sum())
    edges = (3 * len(faces) + len(rim)) // 2
    if size - edges + len(faces) != 1 or (joined and chains != 1):
        return _refused(piece, joined)
    inner = np.ones(size, bool)
    inner[rim[~on_plane]] = False
    work = _squares_of_stretch(piece, inner, rim[on_plane]) * (2.0 if joined else 1.0)
    held = held_by_form(piece, joined=joined)
    return PieceFigures(WORK_OF_SQUARES * work, nan, nan, nan, nan, held, stands=True)


def piece_figures(piece: Piece, *, joined: bool) -> PieceFigures:
    """Return what a piece costs; `joined`: with its mirror image over the centre plane."""
    flat = _laid_flat(joined_mesh(piece) if joined else piece.mesh)
    if flat is None:
        return _refused(piece, joined)
    areas = flat.formed_areas
    long_mm, wide_mm = smallest_rectangle(flat.flat_vertices[flat.rim])
    return PieceFigures(
        work=flat.energy,
        stretch=max(gone_beyond(flat.stretches[:, 0], areas), 1.0),
        shrink=min(-gone_beyond(-flat.stretches[:, 1], areas), 1.0),
        long_mm=long_mm,
        wide_mm=wide_mm,
        locked=held_by_form(piece, joined=joined),
        stands=flat.standing is Standing.SETTLED and not flat.overlap_area > OVERLAP_MM2,
    )


def held_by_form(piece: Piece, *, joined: bool) -> float:
    """Return about how much of a piece's skin locks it in a female form, mm2.

    Of all ways to pull, the one that locks least; with its mirror image joined, of those along the
    centre plane: where another way is free, so is its mirror image, and the way between both. A
    face that lies past square counts in full from `FULLY_PAST` on and in part before it, so that
    what a moved seam changes shows.
    """
    normals = face_normals(piece.outside, piece.faces)
    areas = face_areas(piece.outside, piece.faces)
    kept = areas > 0.0
    normals, areas = normals[kept], areas[kept]

    def least(ways: FloatArray) -> tuple[float, FloatArray]:
        past = (normals @ ways.T - sin(SQUARE_RAD)) / FULLY_PAST
        held = areas @ np.clip(past, 0.0, 1.0)
        best = int(np.argmin(held))
        return float(held[best]), ways[best]

    held, way = least(_IN_PLANE if joined else _ALL_ROUND)
    for reach in (0.18, 0.09, 0.045):
        if held <= 0.0:
            break
        held, way = least(_about(way, reach, joined=joined))
    return held * (2.0 if joined else 1.0)


def _about(way: FloatArray, reach: float, *, joined: bool) -> FloatArray:
    """Return a way to pull and others about it, by so many radians."""
    if joined:
        aside = np.stack([np.array([way[2], 0.0, -way[0]]) * sign for sign in (-1.0, 1.0)])
    else:
        one = np.cross(way, np.eye(3)[int(np.argmin(np.abs(way)))])
        one /= np.linalg.norm(one)
        turn = np.pi / 4.0 * np.arange(8)[:, None]
        aside = np.cos(turn) * one + np.sin(turn) * np.cross(way, one)
    return np.concatenate([way[None], np.cos(reach) * way + np.sin(reach) * aside])


def _squares_of_stretch(piece: Piece, inner: BoolArray, plane_edges: IntArray) -> float:
    """Return the integral of u^2, where lap u = -K inside and u is nothing off `inner`."""
    if not inner.any():
        return 0.0
    mesh = piece.mesh
    round_it = np.full(len(inner), 2.0 * np.pi)
    round_it[np.unique(plane_edges)] = np.pi  # the other half of the turn is on the other hand
    crown = (round_it - _corner_angles(mesh))[inner]
    energy = stiffness(mesh)[inner][:, inner].tocsc()
    factors = splu(energy, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
    stretch = factors.solve(crown)
    return float(vertex_areas(mesh.vertices, mesh.faces)[inner] @ stretch**2)


def _corner_angles(mesh: TriMesh) -> FloatArray:
    """Return (n,) the sum of the corners of faces round each vertex, rad."""
    corner = mesh.vertices[mesh.faces]
    total = np.zeros(len(mesh.vertices))
    for k in range(3):
        a, b = corner[:, (k + 1) % 3] - corner[:, k], corner[:, (k + 2) % 3] - corner[:, k]
        across = np.linalg.norm(np.cross(a, b), axis=1)
        angle = np.arctan2(across, (a * b).sum(axis=1))
        total += np.bincount(mesh.faces[:, k], angle, minlength=len(total))
    return total


def _laid_flat(mesh: TriMesh) -> FlatPanel | None:
    """Return a piece laid flat, or None where it is no disk or too deep to begin with."""
    try:
        return flatten(mesh)
    except (NotADiskError, NoAreaError, NoFoldFreeStartError, CollapsedBlankError):
        return None
    except (NonManifoldError, BadMeshError):
        return None


def _refused(piece: Piece, joined: bool) -> PieceFigures:
    area = piece.area * (2.0 if joined else 1.0)
    return PieceFigures(REFUSED * area, nan, nan, nan, nan, area, stands=False)

"""Keeping the tank and nothing else: scraps dropped, spikes dropped, overlapping shells joined."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.mesh import (
    NearestPoint,
    TriMesh,
    part_of_mesh,
    piece_of_face,
    typical_edge_length,
)
from geometry.progress import Report, silent
from geometry.scan.pieces import PieceMeasures, piece_measures
from geometry.scan.scan_report import Piece
from geometry.scan.shells import joined
from geometry.scan.spikes import without_spikes

SCRAP_SHARE = 0.02
"""Area over the largest piece's below which a piece is a scrap."""

SECOND_TANK_SHARE = 0.25
"""Area over the largest piece's from which a piece that lies apart is taken for another tank."""

_TOUCHING = 3.0
"""In typical edges: how near a piece comes to the tank if it is part of it."""


class SeveralTanksError(GeometryError):
    """The file holds more than one large piece, apart from each other.

    Attributes
    ----------
    pieces : tuple of Piece
        Largest first, mm.
    """

    def __init__(self, pieces: tuple[Piece, ...]) -> None:
        self.pieces = pieces
        super().__init__(f"{len(pieces)} large pieces lie apart")


@dataclass(frozen=True, eq=False)
class TidyScan:
    """The tank alone.

    Attributes
    ----------
    mesh : TriMesh
        One piece, mm.
    dropped : tuple of Piece
        Pieces left out, largest first.
    spikes_dropped : int
        Faces that stuck out of a rim like a thorn.
    shells_joined : int
    bridged : (m,) bool
        Faces put in between joined shells: not scanned.
    """

    mesh: TriMesh
    dropped: tuple[Piece, ...]
    spikes_dropped: int
    shells_joined: int
    bridged: BoolArray


def tidy_for_panels(mesh: TriMesh, *, report: Report = silent) -> TidyScan:
    """Return the tank of a sound scan in mm.

    Raises
    ------
    SeveralTanksError
        Two large pieces lie apart: which one is meant?
    """
    report(0.0, "keep the tank")
    label = piece_of_face(mesh.faces)
    measures = piece_measures(mesh.vertices, mesh.faces, label)
    order = np.argsort(-measures.area, kind="stable")
    tank = _part(mesh, label, int(order[0]))
    tank, spikes = without_spikes(tank)
    bridged = np.zeros(len(tank.faces), bool)
    dropped: list[int] = []
    apart: list[int] = []
    shells = 0
    for step, piece in enumerate(order[1:].tolist()):
        report((step + 1) / len(order), "keep the tank")
        share = measures.area[piece] / measures.area[order[0]]
        other = _part(mesh, label, piece) if share >= SCRAP_SHARE else None
        if other is None or not _touching(tank, other):
            (apart if share >= SECOND_TANK_SHARE else dropped).append(piece)
            continue
        other, more = without_spikes(other)
        both = joined(tank, other)
        if both is None:
            dropped.append(piece)
            continue
        bridged = both.bridged | np.pad(bridged, (0, len(both.bridged) - len(bridged)))
        tank, spikes, shells = both.mesh, spikes + more, shells + 1
    if apart:
        raise SeveralTanksError(_pieces(measures, [int(order[0]), *apart]))
    report(1.0, "keep the tank")
    return TidyScan(tank, _pieces(measures, dropped), spikes, shells, locked(bridged))


def _part(mesh: TriMesh, label: IntArray, piece: int) -> TriMesh:
    return part_of_mesh(mesh, np.flatnonzero(label == piece))[0]


def _pieces(measures: PieceMeasures, which: list[int]) -> tuple[Piece, ...]:
    return tuple(
        Piece(
            int(measures.triangles[k]),
            float(measures.area[k]),
            measures.centre[k],
            measures.high[k] - measures.low[k],
        )
        for k in which
    )


def _touching(tank: TriMesh, other: TriMesh) -> bool:
    """Return whether some of a piece lies within a few edges of the tank."""
    some: FloatArray = other.vertices[:: max(1, len(other.vertices) // 20_000)]
    near = NearestPoint(tank).find(some).distances.min()
    return bool(near < _TOUCHING * typical_edge_length(tank))

"""The tank and nothing else: parts pointed out, scraps and spikes dropped, shells joined.

No scanned point is moved: faces stay or go whole; only the strips between joined shells are new.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.mesh import (
    NearestPoint,
    TriMesh,
    face_areas,
    part_of_mesh,
    typical_edge_length,
)
from geometry.progress import Report, part_of, silent
from geometry.scan.pairing import SideArray, partners, partners_kept, piece_of_each_face
from geometry.scan.pieces import Piece, PieceMeasures, by_area, piece_measures, pieces_and_faces
from geometry.scan.regions import NothingLeftError, Region
from geometry.scan.shells import joined
from geometry.scan.spikes import pinched, without_spikes

SCRAP_SHARE = 0.02
"""Area over the largest piece's below which a piece is a scrap."""

SECOND_TANK_SHARE = 0.25
"""Area over the largest piece's from which a piece that lies apart is taken for another tank."""

SHORTEST_MM, LONGEST_MM = 10.0, 5000.0
"""How long a tank in mm may be: beyond, its unit is wrong."""

_TOUCHING = 3.0
"""In typical edges: how near a piece comes to the tank if it is part of it."""

_ON_PIECE_MM = 10.0
_LEAST_SHARE = 0.1
"""Of all the scan's area: a tank that is less is no tank but the largest of many scraps."""

_CHOSEN = 0.3

Places = FloatArray | Sequence[Sequence[float]]
"""(k, 3) places, mm; () for none."""


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


class OnlyScrapsError(GeometryError):
    """The scan falls into many small pieces, none of which is a tank.

    Attributes
    ----------
    pieces : int
    largest : Piece
        mm.
    """

    def __init__(self, pieces: int, largest: Piece) -> None:
        self.pieces, self.largest = pieces, largest
        super().__init__(f"{pieces} pieces, the largest of {largest.area:.0f} mm2")


class NoPieceNearError(GeometryError):
    """A place said to be on a piece of the scan lies off all of them.

    Attributes
    ----------
    point : (3,) float, mm
    distance_mm : float
    """

    def __init__(self, point: FloatArray, distance_mm: float) -> None:
        self.point = locked(np.array(point, np.float64))
        self.distance_mm = distance_mm
        place = ", ".join(f"{value:.1f}" for value in self.point)
        super().__init__(f"no piece near ({place}), the nearest is {distance_mm:.1f} mm away")


class WrongSizeError(GeometryError):
    """No tank is as small, or as large, as this: the unit cannot be right.

    Attributes
    ----------
    length_mm : float
        The longest way across the scan.
    """

    def __init__(self, length_mm: float) -> None:
        self.length_mm = length_mm
        super().__init__(f"{length_mm:g} mm long is no tank")


@dataclass(frozen=True)
class TidyAreas:
    """What became of the scan's area, mm2.

    Attributes
    ----------
    scanned, kept : float
        Before and after; without the strips put in.
    cropped, cut : float
        Outside a crop; inside a cut-out, with what then hung by one point.
    dropped : float
        Pieces left out.
    spikes : float
        Thorns along rims.
    doubled : float
        Of joined shells, what lay over another, with what came loose there.
    bridged : float
        Strips put in between joined shells: not scanned.
    """

    scanned: float
    kept: float
    cropped: float
    cut: float
    dropped: float
    spikes: float
    doubled: float
    bridged: float


@dataclass(frozen=True, eq=False)
class TidyScan:
    """The tank alone.

    Attributes
    ----------
    mesh : TriMesh
        One piece, mm; more only where the maker said to keep pieces that do not join.
    pieces : tuple of Piece
        Of the scan before crops and cuts, largest first.
    kept : tuple of bool
        Whether something of each piece is in the tank.
    dropped : tuple of Piece
        Pieces left out, largest first.
    spikes_dropped : int
        Faces that stuck out of a rim like a thorn.
    shells_joined : int
    bridged : (m,) bool
        Faces put in between joined shells: not scanned.
    scan_face_of_face : (m,) int
        Which of the scan's faces each is; -1 for those put in.
    areas : TidyAreas
    """

    mesh: TriMesh
    pieces: tuple[Piece, ...]
    kept: tuple[bool, ...]
    dropped: tuple[Piece, ...]
    spikes_dropped: int
    shells_joined: int
    bridged: BoolArray
    scan_face_of_face: IntArray
    areas: TidyAreas


def tidy_for_panels(
    mesh: TriMesh,
    *,
    keep: Places = (),
    drop: Places = (),
    crops: Sequence[Region] = (),
    cuts: Sequence[Region] = (),
    report: Report = silent,
) -> TidyScan:
    """Return the tank of a sound scan in mm.

    Crops and cut-outs are made first; then the largest piece is the tank, pieces that touch it are
    joined to it, and the rest is dropped.

    Parameters
    ----------
    mesh : TriMesh
    keep, drop : (k, 3) float, mm
        Places on pieces to keep or to leave out, whatever the rule above says. A piece said both
        ways is kept; places on what is cropped or cut away mean nothing. Where a piece as large as
        a tank is said to be kept, others as large that lie apart are dropped.
    crops : sequence of regions
        Only what lies in all of them is kept.
    cuts : sequence of regions
        What lies in any of them is taken out; each leaves a hole.

    Raises
    ------
    SeveralTanksError
        Two large pieces lie apart: which one is meant?
    OnlyScrapsError
        There are only small pieces.
    NothingLeftError
        A crop or cut, or dropping, takes everything away.
    NoPieceNearError
        A place of `keep` or `drop` is off the scan.
    EmptyRegionError
        A crop or cut is no part of space.
    WrongSizeError
        What is not between 10 mm and 5 m long.
    """
    report(0.0, "keep the tank")
    _check_size(mesh)
    cropped, cut = _taken_away(mesh, crops, cuts)
    left = np.flatnonzero(~(cropped | cut))
    tidied = part_of_mesh(mesh, left)[0] if len(left) < len(mesh.faces) else mesh
    partner = partners(tidied.faces)
    label = piece_of_each_face(partner)
    named = _named_pieces(mesh, left, label, (keep, drop))
    report(_CHOSEN / 2.0, "keep the tank")
    found = _gathered(_Labelled(tidied, partner, label), named, part_of(report, _CHOSEN / 2.0, 1.0))
    tank = found.tank
    of_scan = np.where(tank.faces >= 0, left[tank.faces], -1)
    if not len(keep) and not len(drop):
        _check_not_scraps(found)
    pieces, piece = by_area(found.measures, label) if tidied is mesh else pieces_and_faces(mesh)
    faces_kept = np.bincount(piece[of_scan[of_scan >= 0]], minlength=len(pieces))
    report(1.0, "keep the tank")
    return TidyScan(
        mesh=tank.mesh,
        pieces=pieces,
        kept=tuple((faces_kept > 0).tolist()),
        dropped=tuple(found.measures.piece(at) for at in found.dropped),
        spikes_dropped=len(tank.spikes),
        shells_joined=tank.shells,
        bridged=locked(tank.faces < 0),
        scan_face_of_face=locked(of_scan),
        areas=_areas(
            mesh,
            {
                "cropped": np.flatnonzero(cropped),
                "cut": np.flatnonzero(cut),
                "dropped": left[np.isin(label, found.dropped)],
                "spikes": left[tank.spikes],
            },
            tank.mesh,
            of_scan,
        ),
    )


def _check_size(mesh: TriMesh) -> None:
    length = float(np.linalg.norm(np.ptp(mesh.vertices, axis=0)))
    if not SHORTEST_MM <= length <= LONGEST_MM:
        raise WrongSizeError(length)


def _taken_away(
    mesh: TriMesh, crops: Sequence[Region], cuts: Sequence[Region]
) -> tuple[BoolArray, BoolArray]:
    """Return which faces are cropped away, and which of the rest are cut out."""
    cropped = np.zeros(len(mesh.faces), bool)
    for number, crop in enumerate(crops):
        cropped |= ~crop.holds(mesh)
        if cropped.all():
            raise NothingLeftError("crop", number)
    cut = np.zeros(len(mesh.faces), bool)
    for number, region in enumerate(cuts):
        cut |= region.holds(mesh) & ~cropped
        if (cropped | cut).all():
            raise NothingLeftError("cut", number)
    left = np.flatnonzero(~(cropped | cut))
    while 0 < len(left) < len(mesh.faces):
        torn = np.zeros(len(mesh.vertices), bool)
        torn[mesh.faces[cropped | cut]] = True
        touching = pinched(mesh.faces[left], torn)
        if not len(touching):
            break
        hanging = np.isin(mesh.faces[left], touching).any(axis=1)
        cut[left[hanging]] = True
        left = left[~hanging]
    if not len(left):
        raise NothingLeftError("cut" if len(cuts) else "crop", max(len(cuts) or len(crops), 1) - 1)
    return cropped, cut


@dataclass(frozen=True)
class _Named:
    """Pieces the maker said to keep, and to drop."""

    keep: frozenset[int]
    drop: frozenset[int]


def _named_pieces(
    mesh: TriMesh, left: IntArray, label: IntArray, places: tuple[Places, Places]
) -> _Named:
    """Return the pieces meant by places to keep and to drop, after crops and cuts."""
    keep, drop = (np.asarray(each, np.float64).reshape(-1, 3) for each in places)
    points = np.concatenate([keep, drop])
    if not len(points):
        return _Named(frozenset(), frozenset())
    near = NearestPoint(mesh).find(points)
    off = np.flatnonzero(near.distances > max(_ON_PIECE_MM, _TOUCHING * typical_edge_length(mesh)))
    if len(off):
        raise NoPieceNearError(points[off[0]], float(near.distances[off[0]]))
    piece_of_scan_face = np.full(len(mesh.faces), -1, np.int64)
    piece_of_scan_face[left] = label
    pieces = piece_of_scan_face[near.faces].tolist()
    kept = frozenset(pieces[: len(keep)]) - {-1}
    return _Named(kept, frozenset(pieces[len(keep) :]) - kept - {-1})


@dataclass(frozen=True, eq=False)
class _Tank:
    """The tank so far: `faces` says which of the scan's each is, -1 for strips."""

    mesh: TriMesh
    faces: IntArray
    spikes: IntArray
    shells: int


@dataclass(frozen=True, eq=False)
class _Gathered:
    """The tank, and what was dropped, largest first."""

    tank: _Tank
    measures: PieceMeasures
    dropped: list[int]


@dataclass(frozen=True, eq=False)
class _Labelled:
    """What crops and cuts left of a scan, with partners of its sides and the piece of each face."""

    mesh: TriMesh
    partner: SideArray
    label: IntArray


def _gathered(scan: _Labelled, named: _Named, report: Report) -> _Gathered:
    measures = piece_measures(scan.mesh.vertices, scan.mesh.faces, scan.label)
    order = np.argsort(-measures.area, kind="stable").tolist()
    allowed = [piece for piece in order if piece not in named.drop]
    if not allowed:
        raise NothingLeftError("drop")
    large = SECOND_TANK_SHARE * measures.area[allowed[0]]
    said = [piece for piece in allowed if piece in named.keep and measures.area[piece] >= large]
    first = said[0] if said else allowed[0]
    tank = _piece(scan, first)
    dropped, apart = [*named.drop], list[int]()
    beside = list[_Tank]()
    rest = [piece for piece in allowed if piece != first]
    for step, piece in enumerate(rest):
        report((step + 1) / len(order), "keep the tank")
        share = measures.area[piece] / measures.area[first]
        is_kept = piece in named.keep
        other = _piece(scan, piece) if share >= SCRAP_SHARE or is_kept else None
        touches = other is not None and _touching(tank.mesh, other.mesh)
        both = _with_shell(tank, other) if other is not None and touches else None
        if both is not None:
            tank = both
        elif is_kept and other is not None:
            beside.append(other)
        else:
            is_other_tank = share >= SECOND_TANK_SHARE and not touches and not said
            (apart if is_other_tank else dropped).append(piece)
    if apart and measures.area[first] < _LEAST_SHARE * measures.area.sum():
        raise OnlyScrapsError(len(order), measures.piece(first))
    if apart:
        raise SeveralTanksError(tuple(measures.piece(at) for at in (first, *apart)))
    for other in beside:
        tank = _side_by_side(tank, other)
    return _Gathered(tank, measures, [piece for piece in order if piece in set(dropped)])


def _piece(scan: _Labelled, piece: int) -> _Tank:
    """Return one piece without its spikes."""
    here = scan.label == piece
    faces = np.flatnonzero(here)
    part, kept = without_spikes(
        part_of_mesh(scan.mesh, faces)[0], partners_kept(scan.partner, here)
    )
    spikes = np.ones(len(faces), bool)
    spikes[kept] = False
    return _Tank(part, faces[kept], faces[spikes], 0)


def _with_shell(tank: _Tank, other: _Tank) -> _Tank | None:
    """Return the tank with another shell joined to it, or None where they do not join."""
    both = joined(tank.mesh, other.mesh)
    if both is None:
        return None
    strip = np.full(len(both.mesh.faces) - len(tank.faces) - len(both.kept), -1, np.int64)
    return _Tank(
        both.mesh,
        np.concatenate([tank.faces, other.faces[both.kept], strip]),
        np.concatenate([tank.spikes, other.spikes]),
        tank.shells + 1,
    )


def _side_by_side(tank: _Tank, other: _Tank) -> _Tank:
    """Return the tank with a piece kept as it is, joined to nothing."""
    faces = np.concatenate([tank.mesh.faces, other.mesh.faces + len(tank.mesh.vertices)])
    mesh = TriMesh(np.concatenate([tank.mesh.vertices, other.mesh.vertices]), faces)
    return replace(
        tank,
        mesh=mesh,
        faces=np.concatenate([tank.faces, other.faces]),
        spikes=np.concatenate([tank.spikes, other.spikes]),
    )


def _touching(tank: TriMesh, other: TriMesh) -> bool:
    """Return whether some of a piece lies within a few edges of the tank."""
    some: FloatArray = other.vertices[:: max(1, len(other.vertices) // 20_000)]
    near = NearestPoint(tank).find(some).distances.min()
    return bool(near < _TOUCHING * typical_edge_length(tank))


def _check_not_scraps(found: _Gathered) -> None:
    total = float(found.measures.area.sum())
    kept = face_areas(found.tank.mesh.vertices, found.tank.mesh.faces).sum()
    if kept < _LEAST_SHARE * total:
        order = np.argsort(-found.measures.area, kind="stable")
        raise OnlyScrapsError(len(order), found.measures.piece(int(order[0])))


def _areas(mesh: TriMesh, gone: dict[str, IntArray], tank: TriMesh, of_scan: IntArray) -> TidyAreas:
    """Return the areas of the scan's faces that are gone for a reason, and of the rest."""
    area = face_areas(mesh.vertices, mesh.faces)
    new = of_scan < 0
    scanned, kept = float(area.sum()), float(area[of_scan[~new]].sum())
    known = {why: float(area[faces].sum()) for why, faces in gone.items()}
    told = np.zeros(len(area), bool)
    for faces in (of_scan[~new], *gone.values()):
        told[faces] = True
    return TidyAreas(
        scanned=scanned,
        kept=kept,
        doubled=float(area[~told].sum()),
        bridged=float(face_areas(tank.vertices, tank.faces[new]).sum()),
        **known,
    )

"""From what stands in a file to a sound mesh: joined, oriented outward, two faces at an edge."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NotOrientableError, TriMesh
from geometry.progress import Report, part_of, silent
from geometry.scan.pairing import (
    CROWDED,
    OPEN,
    SideArray,
    crowded_edges,
    faces_to_turn,
    next_side,
    partners,
    partners_kept,
    piece_of_each_face,
    split_fans,
    turned_faces,
    uncrowded,
)
from geometry.scan.pieces import piece_measures
from geometry.scan.raw_scan import RawScan
from geometry.scan.unit import Unit
from geometry.scan.unreadable import NoSurfaceError
from geometry.scan.weld import near_places, same_places

_WELD_OF_SIZE = 1e-6
"""Open edges nearer than this share of the scan's size are one: 0.6 micron on a tank."""
_FLAT_HEIGHT = 1e-7
"""A face lower than this share of its longest side has no area."""
_SLIVER_HEIGHT = 0.02
"""A face lower than this share of its longest side is a sliver: it hardly says where it faces."""
_MOST_PLACES = 200
_CAP_ROUNDS = 4
_FACES_AT_ONCE = 1_000_000
_FACES_IN_CACHE = 8192
_ONE_SIDED_SHARE = 0.01
_FACING = 0.1


@dataclass(frozen=True)
class Repairs:
    """What was done to a scan to make it sound; every number counts places.

    Attributes
    ----------
    joined_points : int
        Points of the file that stood at the place of another.
    flat_faces : int
        Faces without area taken out.
    caps_mended : int
        Faces without area whose three corners are needed by neighbours, mended by turning an edge.
    duplicate_faces : int
        Faces that stood in the file more than once.
    crowded_edges : int
        Edges with three or more faces, at which the surface was cut apart.
    cut_faces : int
        Faces taken out there because they could not be parted from their neighbours.
    split_vertices : int
        Vertices given out more than once because separate parts of surface touched there.
    faces_turned : int
        Faces that faced another way than their neighbours.
    pieces_turned : int
        Pieces that faced inward as a whole.
    one_sided_faces : int
        Faces of small one-sided scraps taken out.
    side_unknown : bool
        Whether the largest piece is so flat that its shape does not tell outside from inside.
    slivers : int
        Needles: triangles lower than a fiftieth of their longest side. They stay as they are.
    """

    joined_points: int = 0
    flat_faces: int = 0
    caps_mended: int = 0
    duplicate_faces: int = 0
    crowded_edges: int = 0
    cut_faces: int = 0
    split_vertices: int = 0
    faces_turned: int = 0
    pieces_turned: int = 0
    one_sided_faces: int = 0
    side_unknown: bool = False
    slivers: int = 0

    def in_words(self) -> tuple[str, ...]:
        """Return a sentence for each repair that a shaper may want to know of.

        >>> Repairs(duplicate_faces=2).in_words()
        ('2 triangles stood in the file twice; one of each was kept.',)
        """
        said = (
            (self.flat_faces, "{} triangle{s} without area {were} left out."),
            (self.caps_mended, "{} triangle{s} without area {were} mended with a neighbour."),
            (
                self.duplicate_faces,
                "{} triangle{s} stood in the file twice; one of each was kept.",
            ),
            (
                self.crowded_edges,
                "At {} edge{s} more than two triangles met; the surface was cut apart there.",
            ),
            (self.cut_faces, "{} triangle{s} running into others there {were} cut out."),
            (self.split_vertices, "{} point{s} where parts only touched {were} parted."),
            (self.faces_turned, "{} triangle{s} faced the wrong way and {were} turned."),
            (self.pieces_turned, "{} piece{s} faced inward and {were} turned to face out."),
            (self.one_sided_faces, "{} triangle{s} of twisted scraps {were} left out."),
            (self.slivers, "{} sliver{s} of a triangle {were} found and left as found."),
        )
        return tuple(_for_number(text, count) for count, text in said if count)


def _for_number(text: str, count: int) -> str:
    """Return a sentence about some number of things.

    >>> _for_number("{} edge{s} {were} cut.", 1), _for_number("{} edge{s} {were} cut.", 1200)
    ('1 edge was cut.', '1,200 edges were cut.')
    """
    one = count == 1
    return text.format(f"{count:,}", s="" if one else "s", were="was" if one else "were")


@dataclass(frozen=True, eq=False)
class RepairPlaces:
    """Where something was mended, or found and left.

    Attributes
    ----------
    what : str
        The attribute of `Repairs` that counts it.
    count : int
    places : (k, 3) float, file's unit
        The first of them, at most 200.
    """

    what: str
    count: int
    places: FloatArray


class _Tally:
    """What was mended so far, counted, with places."""

    def __init__(self) -> None:
        self.counts: dict[str, int] = {}
        self._places: dict[str, list[FloatArray]] = {}

    def add(self, what: str, number: int, places: FloatArray | None = None) -> None:
        """Count some more of a kind; places are kept up to a limit."""
        self.counts[what] = self.counts.get(what, 0) + number
        if places is not None and len(places):
            self._places.setdefault(what, []).append(np.array(places[:_MOST_PLACES], np.float64))

    def places(self) -> tuple[RepairPlaces, ...]:
        """Return every kind that has places."""
        return tuple(
            RepairPlaces(what, self.counts[what], locked(np.concatenate(found)[:_MOST_PLACES]))
            for what, found in self._places.items()
        )


@dataclass(frozen=True, eq=False)
class SoundScan:
    """A mesh whose edges have one or two faces, all facing out, and what it took.

    Attributes
    ----------
    mesh : TriMesh
        In the file's unit.
    repairs : Repairs
    remarks : tuple of str
        Those of the reader, then the repairs in words.
    unit : "mm", "cm", "m", "in" or None
        What the file says.
    places : tuple of RepairPlaces
        Where the repairs are, kind by kind; points that only stood twice are not listed.
    """

    mesh: TriMesh
    repairs: Repairs
    remarks: tuple[str, ...]
    unit: Unit | None = None
    places: tuple[RepairPlaces, ...] = ()


def sound_mesh(raw: RawScan, *, report: Report = silent) -> SoundScan:
    """Return the scan as a sound mesh, every repair counted.

    Raises
    ------
    NoSurfaceError
        No face with an area.
    NotOrientableError
        A piece of more than a hundredth of the faces is one-sided.
    """
    counts = _Tally()
    vertices, faces = _welded(raw, counts, part_of(report, 0.0, 0.4))
    report(0.4, "Finding neighbours")
    vertices, faces, partner = _joined_along_rims(vertices, faces, counts)
    report(0.55, "Mending flat triangles")
    faces, partner = _without_flat_faces(vertices, faces, partner, counts)
    if not len(faces):
        raise NoSurfaceError(raw.path)
    vertices, faces, side_unknown = _two_faces_at_an_edge(
        vertices, faces, partner, counts, part_of(report, 0.6, 0.95)
    )
    report(0.95, "Checking the mesh")
    mesh = TriMesh(*_in_use(vertices, faces))
    thin, _ = _flat(mesh.vertices, mesh.faces, _SLIVER_HEIGHT)
    counts.add("slivers", len(thin), _middles(mesh.vertices, mesh.faces, thin))
    repairs = Repairs(**counts.counts, side_unknown=side_unknown)
    report(1.0, "Checking the mesh")
    remarks = raw.remarks + repairs.in_words()
    return SoundScan(mesh, repairs, remarks, raw.unit, counts.places())


def _welded(raw: RawScan, counts: _Tally, report: Report) -> tuple[FloatArray, IntArray]:
    first = same_places(raw.vertices, report=report)
    kept = first == np.arange(len(first))
    new_index = np.cumsum(kept) - 1
    counts.add("joined_points", int(len(kept) - kept.sum()))
    vertices = raw.vertices[kept].astype(np.float64)
    faces = np.empty(raw.faces.shape, np.int64)
    for corner in range(3):
        faces[:, corner] = new_index[first[raw.faces[:, corner]]]
    return vertices, _cleared(vertices, faces, counts)


def _cleared(vertices: FloatArray, faces: IntArray, counts: _Tally) -> IntArray:
    """Return faces without those that name a vertex twice or stand there again."""
    a, b, c = faces.T
    flat = (a == b) | (b == c) | (c == a)
    if flat.any():
        counts.add("flat_faces", int(flat.sum()), _middles(vertices, faces, np.flatnonzero(flat)))
        faces = faces[~flat]
    again = _stands_before(faces)
    if len(again):
        counts.add("duplicate_faces", len(again), _middles(vertices, faces, again))
        faces = np.delete(faces, again, axis=0)
    return faces


def _stands_before(faces: IntArray) -> IntArray:
    """Return the faces with the same three vertices as an earlier one."""
    low, high = faces.min(axis=1), faces.max(axis=1)
    middle = faces.sum(axis=1) - low - high
    keys = low.astype(np.uint64)
    for part in (middle, high):
        keys *= np.uint64(0x9E3779B97F4A7C15)
        keys ^= keys >> np.uint64(31)
        keys ^= part.astype(np.uint64)
    order = np.sort(keys)
    shared = np.unique(order[1:][order[1:] == order[:-1]])
    if not len(shared):
        return np.empty(0, np.int64)
    del order
    rows = np.flatnonzero(np.isin(keys, shared))
    triples = np.stack([low[rows], middle[rows], high[rows]], axis=1)
    _, first = np.unique(triples, axis=0, return_index=True)
    return np.delete(rows, first)


def _joined_along_rims(
    vertices: FloatArray, faces: IntArray, counts: _Tally
) -> tuple[FloatArray, IntArray, SideArray]:
    """Join open edges that nearly coincide, as after rounding; everything else stays."""
    partner = partners(faces)
    side = np.flatnonzero(partner == OPEN)
    on_rim = np.unique(faces.ravel()[np.concatenate([side, next_side(side)])])
    if not len(on_rim):
        return vertices, faces, partner
    size = float(np.linalg.norm(np.ptp(vertices, axis=0)))
    first = near_places(vertices[on_rim], _WELD_OF_SIZE * size)
    moved = int((first != np.arange(len(first))).sum())
    if not moved:
        return vertices, faces, partner
    counts.add("joined_points", moved)
    target = np.arange(len(vertices))
    target[on_rim] = on_rim[first]
    faces = _cleared(vertices, target[faces], counts)
    return vertices, faces, partners(faces)


def _flat(
    vertices: FloatArray, faces: IntArray, share: float = _FLAT_HEIGHT
) -> tuple[IntArray, IntArray]:
    """Return the faces no higher than a share of their longest side, and that side of each."""
    rows: list[IntArray] = []
    longest_sides: list[IntArray] = []
    for start in range(0, len(faces), _FACES_IN_CACHE):
        corners = vertices[faces[start : start + _FACES_IN_CACHE]]
        sides = np.roll(corners, -1, axis=1) - corners
        squared = np.einsum("fkd,fkd->fk", sides, sides)
        vectors = np.cross(sides[:, 0], sides[:, 1])
        twice_area = np.sqrt(np.einsum("fd,fd->f", vectors, vectors))
        longest = np.maximum(np.maximum(squared[:, 0], squared[:, 1]), squared[:, 2])
        flat = np.flatnonzero(twice_area <= share * longest)
        rows.append(start + flat)
        longest_sides.append(3 * (start + flat) + squared[flat].argmax(axis=1))
    empty = np.empty(0, np.int64)
    return np.concatenate([*rows, empty]), np.concatenate([*longest_sides, empty])


def _middles(vertices: FloatArray, faces: IntArray, rows: IntArray) -> FloatArray:
    """Return the middles of the first of some faces."""
    return np.asarray(vertices[faces[rows[:_MOST_PLACES]]].mean(axis=1))


def _without_flat_faces(
    vertices: FloatArray, faces: IntArray, partner: SideArray, counts: _Tally
) -> tuple[IntArray, SideArray]:
    """Turn the longest side of faces without area; what cannot be mended so is taken out."""
    for _ in range(_CAP_ROUNDS):
        flat, side = _flat(vertices, faces)
        if not len(flat):
            return faces, partner
        other = partner[side].astype(np.int64)
        flat_face = np.zeros(len(faces), bool)
        flat_face[flat] = True
        corners = faces.ravel()
        good = (other >= 0) & ~flat_face[np.maximum(other, 0) // 3]
        good &= corners[side] != corners[np.maximum(other, 0)]  # they face one way
        good[good] = _first_of_each(other[good] // 3)
        if not good.any():
            break
        faces = _edges_turned(faces, side[good], other[good])
        counts.add("caps_mended", int(good.sum()), _middles(vertices, faces, side[good] // 3))
        partner = partners(faces)
    flat, _ = _flat(vertices, faces)
    if len(flat):
        counts.add("flat_faces", len(flat), _middles(vertices, faces, flat))
        faces = np.delete(faces, flat, axis=0)
        partner = partners(faces)
    return faces, partner


def _first_of_each(values: IntArray) -> BoolArray:
    _, first = np.unique(values, return_index=True)
    chosen = np.zeros(len(values), bool)
    chosen[first] = True
    return chosen


def _edges_turned(faces: IntArray, side: IntArray, other: IntArray) -> IntArray:
    """Return faces with the edge between two of them joining their far corners instead."""
    corners = faces.ravel()
    a, b = corners[side], corners[other]
    c, d = corners[next_side(next_side(side))], corners[next_side(next_side(other))]
    turned = faces.copy()
    turned[side // 3] = np.stack([a, d, c], axis=1)
    turned[other // 3] = np.stack([d, b, c], axis=1)
    return turned


def _two_faces_at_an_edge(
    vertices: FloatArray,
    faces: IntArray,
    partner: SideArray,
    counts: _Tally,
    report: Report,
) -> tuple[FloatArray, IntArray, bool]:
    """Part what is crowded, face all out, and give vertices out once per fan.

    A face that ends at a crowded edge may hang on at both its ends, so that the edge stays
    crowded: such faces are cut out, and all is done again.

    Returns
    -------
    vertices, faces, and whether the largest piece is too flat to tell outside from inside.
    """
    left = 1.0
    while True:
        report(1.0 - left, "Parting crowded edges")
        crowded = bool((partner == CROWDED).any())
        if crowded:
            edges = crowded_edges(faces, partner)
            counts.add("crowded_edges", len(edges), vertices[edges].mean(axis=1))
            partner = uncrowded(vertices, faces, partner)
        report(1.0 - 0.8 * left, "Facing outward")
        faces, partner = _facing_one_way(vertices, faces, partner, counts)
        faces, partner, side_unknown = _facing_out(vertices, faces, partner, counts)
        report(1.0 - 0.6 * left, "Separating parts that touch")
        before = len(vertices)
        vertices, faces, split = split_fans(vertices, faces, partner)
        counts.add("split_vertices", split, np.unique(vertices[before:], axis=0))
        if not crowded:
            return vertices, faces, side_unknown
        cut = _still_running_into_others(faces, partner)
        if not cut.any():
            return vertices, faces, side_unknown
        counts.add("cut_faces", int(cut.sum()), _middles(vertices, faces, np.flatnonzero(cut)))
        faces = faces[~cut]
        partner = partners(faces)
        left *= 0.5


def _still_running_into_others(faces: IntArray, partner: SideArray) -> BoolArray:
    """Return the faces to cut out so that edges parted by `partner` are parted in truth.

    First those that end there; if none does, all but two that go on into each other.
    """
    now = partners(faces)
    corners = faces.ravel()
    against = (now >= 0) & (corners == corners[np.maximum(now, 0)])
    side = (now == CROWDED) | against
    if (side & (partner == OPEN)).any():
        side &= partner == OPEN
    else:
        rows = np.flatnonzero(side)
        edge = np.sort(np.stack([corners[rows], corners[next_side(rows)]], axis=1), axis=1)
        kept = rows[np.unique(edge, axis=0, return_index=True)[1]]
        side[kept] = False
        side[partner[kept]] = False
    return np.asarray(side.reshape(-1, 3).any(axis=1))


def _facing_one_way(
    vertices: FloatArray, faces: IntArray, partner: SideArray, counts: _Tally
) -> tuple[IntArray, SideArray]:
    turn, one_sided = faces_to_turn(faces, partner)
    if one_sided.any():
        if one_sided.sum() > _ONE_SIDED_SHARE * len(faces):
            raise _one_sided_error(vertices, faces, partner, one_sided)
        rows = np.flatnonzero(one_sided)
        counts.add("one_sided_faces", len(rows), _middles(vertices, faces, rows))
        faces, turn = faces[~one_sided], turn[~one_sided]
        partner = partners_kept(partner, ~one_sided)
    counts.add("faces_turned", int(turn.sum()), _middles(vertices, faces, np.flatnonzero(turn)))
    return turned_faces(faces, partner, turn)


def _one_sided_error(
    vertices: FloatArray, faces: IntArray, partner: SideArray, one_sided: BoolArray
) -> NotOrientableError:
    corners = faces.ravel()
    side = np.flatnonzero(partner > np.arange(len(partner), dtype=np.int32))
    clash = corners[side] == corners[partner[side]]
    side = side[clash & one_sided[side // 3]]
    edges = np.stack([corners[side], corners[next_side(side)]], axis=1)
    return NotOrientableError(edges, vertices[edges].mean(axis=1))


def _facing_out(
    vertices: FloatArray, faces: IntArray, partner: SideArray, counts: _Tally
) -> tuple[IntArray, SideArray, bool]:
    """Turn pieces that face inward, seen from their own middle or, if small, from the main one's.

    Returns
    -------
    faces, partners, and whether the largest piece is too flat to tell.
    """
    piece = piece_of_each_face(partner)
    measures = piece_measures(vertices, faces, piece)
    small = measures.area < 0.2 * measures.area.max(initial=0.0)
    middle = np.where(small[:, None], measures.centre[np.argmax(measures.area)], measures.centre)
    facing = _mean_facing(vertices, faces, piece, middle)
    inward = facing < -_FACING
    counts.add("pieces_turned", int(inward.sum()), measures.point[inward])
    unknown = bool(abs(facing[np.argmax(measures.area)]) < _FACING)
    return *turned_faces(faces, partner, inward[piece]), unknown


def _mean_facing(
    vertices: FloatArray, faces: IntArray, piece: IntArray, middle: FloatArray
) -> FloatArray:
    """Return (p,) the mean cosine between faces' normals and the way out from the middle."""
    count = len(middle)
    total, area = np.zeros(count), np.zeros(count)
    for start in range(0, len(faces), _FACES_AT_ONCE):
        part = slice(start, start + _FACES_AT_ONCE)
        a, b, c = (vertices[faces[part, corner]] for corner in range(3))
        vectors = np.cross(b - a, c - a)
        out = (a + b + c) / 3.0 - middle[piece[part]]
        distance = np.sqrt(np.einsum("ij,ij->i", out, out))
        along = np.einsum("ij,ij->i", vectors, out)
        along = np.divide(along, distance, out=np.zeros_like(along), where=distance > 0)
        total += np.bincount(piece[part], along, count)
        area += np.bincount(piece[part], np.linalg.norm(vectors, axis=1), count)
    return np.divide(total, area, out=np.zeros(count), where=area > 0)


def _in_use(vertices: FloatArray, faces: IntArray) -> tuple[FloatArray, IntArray]:
    used = np.zeros(len(vertices), bool)
    used[faces] = True
    if used.all():
        return vertices, faces
    return vertices[used], (np.cumsum(used) - 1)[faces]

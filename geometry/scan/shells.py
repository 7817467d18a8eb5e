"""Joining a second shell of a scan to the first, where their edges overlap by a few millimetres."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import (
    NearestPoint,
    NonManifoldError,
    TriMesh,
    check_manifold,
    edge_table,
    face_normals,
    is_oriented,
    part_of_mesh,
    piece_of_face,
    rims,
    typical_edge_length,
    vertex_normals,
)

_LIES_OVER = 1.5
_CLEAR_OF_RIM = 0.6
_FACING = 4.0
_AWAY = 30.0
"""In typical edges: how far one shell may lie off the other and still double it; how far its
vertices must stay from the other's rim; how far apart facing rims may be; and by how much a
triangle that faces away from the shells counts more."""

_PAIRS_AT_ONCE = 40_000
"""Pairs of chain vertices weighed at once; longer chains are parted where they are nearest."""


@dataclass(frozen=True, eq=False)
class Joined:
    """Two shells made one.

    Attributes
    ----------
    mesh : TriMesh
        The first shell's faces, the second's that were kept, then the strip between.
    kept : (j,) int
        Which faces of the second.
    bridged : (m,) bool
        The faces of the strip: nobody scanned them.
    """

    mesh: TriMesh
    kept: IntArray
    bridged: BoolArray


def joined(first: TriMesh, second: TriMesh) -> Joined | None:
    """Return two overlapping shells as one surface, or None where they do not face each other.

    Faces of the second that double the first go; the facing rims left, a triangle or so apart, are
    joined by a strip whose diagonals are the shorter ones.
    """
    typical = typical_edge_length(first)
    kept = _clear_of(first, second, typical)
    if not len(kept):
        return None
    rest, _ = part_of_mesh(second, kept)
    chains = _facing_chains(first, rest, typical)
    if not chains:
        return None
    shift = len(first.vertices)
    strip = [_strip(first, rest, q, p, shift) for p, q in chains]
    faces = np.concatenate([first.faces, rest.faces + shift, *strip])
    mesh = TriMesh(np.concatenate([first.vertices, rest.vertices]), faces)
    try:
        check_manifold(mesh)
    except NonManifoldError:
        return None
    if not is_oriented(mesh.faces):
        return None
    bridged = np.zeros(len(faces), bool)
    bridged[len(first.faces) + len(rest.faces) :] = True
    return Joined(mesh, kept, bridged)


def _clear_of(first: TriMesh, second: TriMesh, typical: float) -> IntArray:
    """Return the faces of the second shell that do not lie over the first; none if all or none."""
    near = NearestPoint(first).find(second.vertices)
    here = vertex_normals(second.vertices, second.faces)
    there = face_normals(first.vertices, first.faces)[near.faces]
    same_side = (here * there).sum(axis=1) > 0.0  # the other wall of a fold is no double
    inside = ~_on_rim(first, near.faces, near.barycentric)
    over = same_side & inside & (near.distances < _LIES_OVER * typical)
    beside = same_side & (near.distances < _CLEAR_OF_RIM * typical)
    keep = np.flatnonzero(~(over | beside)[second.faces].any(axis=1))
    if len(keep) == len(second.faces) or not len(keep):
        return keep[:0]
    keep = keep[piece_of_face(second.faces[keep]) == 0]
    return _without_dangling(second, keep)


def _without_dangling(mesh: TriMesh, kept: IntArray) -> IntArray:
    """Return those of some faces that do not hang by one vertex or one edge, until none does."""
    while len(kept):
        part, _ = part_of_mesh(mesh, kept)
        table = edge_table(part.faces)
        loose = (table.face_count[table.edge_of_side] == 1).sum(axis=1) >= 2
        try:
            check_manifold(part)
            pinched = np.zeros(len(kept), bool)
        except NonManifoldError as error:
            pinched = np.asarray(np.isin(part.faces, error.vertices).any(axis=1))
        if not (loose | pinched).any():
            return kept
        kept = kept[~(loose | pinched)]
        kept = kept[piece_of_face(mesh.faces[kept]) == 0] if len(kept) else kept
    return kept


def _on_rim(mesh: TriMesh, faces: IntArray, share: FloatArray) -> BoolArray:
    """Return whether places on faces lie on a rim edge or at a rim vertex."""
    table = edge_table(mesh.faces)
    rim_side = table.face_count[table.edge_of_side] == 1
    rim_vertex = np.zeros(len(mesh.vertices), bool)
    rim_vertex[table.edges[table.face_count == 1]] = True
    away = share < 1e-6
    on_side = np.stack([away[:, (k + 2) % 3] & rim_side[faces, k] for k in range(3)], axis=1)
    at_vertex = (share > 1.0 - 1e-6) & rim_vertex[mesh.faces[faces]]
    return np.asarray(on_side.any(axis=1) | at_vertex.any(axis=1))


def _facing_chains(
    first: TriMesh, second: TriMesh, typical: float
) -> list[tuple[IntArray, IntArray]]:
    """Return pairs of chains of rim vertices, second's and first's, running the same way."""
    first_loops = rims(first)
    at = np.concatenate(first_loops)
    loop_of = np.repeat(np.arange(len(first_loops)), [len(loop) for loop in first_loops])
    place_of = np.concatenate([np.arange(len(loop)) for loop in first_loops])
    tree = cKDTree(first.vertices[at])
    pairs = []
    for loop in rims(second):
        found = tree.query(second.vertices[loop])
        gap, nearest = np.asarray(found[0], np.float64), np.asarray(found[1], np.int64)
        facing = gap < _FACING * typical
        for stretch in _runs(facing):
            whole = len(stretch) == len(loop)
            run = stretch if whole else _between_closest_ends(stretch, gap)
            if len(run) < 3:
                continue
            chosen = loop[run]
            ends = nearest[[run[0], run[-1]]]
            if loop_of[ends[0]] != loop_of[ends[1]]:
                continue
            other = first_loops[loop_of[ends[0]]]
            pairs.append(_matched(chosen, other, place_of[ends], whole))
    return pairs


def _between_closest_ends(run: IntArray, gap: FloatArray) -> IntArray:
    """Return a run without ends from which the next vertex inward is closer to the other rim."""
    start, end = 0, len(run)
    while end - start > 3 and gap[run[start + 1]] < gap[run[start]]:
        start += 1
    while end - start > 3 and gap[run[end - 2]] < gap[run[end - 1]]:
        end -= 1
    return run[start:end]


def _runs(flags: BoolArray) -> list[IntArray]:
    """Return the runs of set flags round a loop, gaps of up to three closed."""
    if flags.all():
        return [np.arange(len(flags))]
    if not flags.any():
        return []
    start = int(np.flatnonzero(~flags)[0])
    order = (np.arange(len(flags)) + start) % len(flags)
    on = np.flatnonzero(flags[order])
    breaks = np.flatnonzero(np.diff(on) > 4) + 1
    return [order[part[0] : part[-1] + 1] for part in np.split(on, breaks)]


def _matched(
    chosen: IntArray, other: IntArray, ends: IntArray, whole: bool
) -> tuple[IntArray, IntArray]:
    """Return the second's chain and the first's beside it, in the second's direction.

    Rims that face each other run opposite ways, so the first's chain is walked backwards.
    """
    backward = other[::-1]
    begin, finish = len(other) - 1 - ends[0], len(other) - 1 - ends[1]
    if whole:
        chain = np.roll(backward, -begin)
        return np.append(chosen, chosen[0]), np.append(chain, chain[0])
    count = (finish - begin) % len(other) + 1
    return chosen, backward[(begin + np.arange(count)) % len(other)]


def _strip(first: TriMesh, second: TriMesh, q: IntArray, p: IntArray, shift: int) -> IntArray:
    """Return (k, 3) faces between two chains that run the same way, p's surface on its left.

    Of all the ways to step along one chain or the other, the one whose triangles are smallest and
    face as the shells do: found by dynamic programming, in parts where the chains are long.
    """
    if len(p) * len(q) > _PAIRS_AT_ONCE and min(len(p), len(q)) > 8:
        half = len(p) // 2
        gap = np.linalg.norm(first.vertices[q[1:-1]] - second.vertices[p[half]], axis=1)
        meeting = 1 + _nearest_along(gap, half / (len(p) - 1))
        before = _strip(first, second, q[: meeting + 1], p[: half + 1], shift)
        after = _strip(first, second, q[meeting:], p[half:], shift)
        return np.concatenate([before, after])
    normals_q = vertex_normals(first.vertices, first.faces)[q]
    normals_p = vertex_normals(second.vertices, second.faces)[p]
    step_p = _triangle_costs(
        (second.vertices[p[1:]], second.vertices[p[:-1]], first.vertices[q]),
        normals_p[:-1, None] + normals_q[None],
    )
    step_q = _triangle_costs(
        (first.vertices[q[:-1]], first.vertices[q[1:]], second.vertices[p]),
        normals_q[:-1, None] + normals_p[None],
    ).T
    return _cheapest_strip(step_p, step_q, p + shift, q)


def _nearest_along(gap: FloatArray, fraction: float) -> int:
    """Return where a chain comes nearest, among the places about as far along it."""
    expected = fraction * (len(gap) - 1)
    reach = max(8.0, 0.2 * len(gap))
    near = np.abs(np.arange(len(gap)) - expected) <= reach
    return int(np.argmin(np.where(near, gap, np.inf)))


def _triangle_costs(
    corners: tuple[FloatArray, FloatArray, FloatArray], normals: FloatArray
) -> FloatArray:
    """Return (k, j) costs of triangles (a_k, b_k, c_j): long sides and facing away cost."""
    a, b, c = corners[0][:, None], corners[1][:, None], corners[2][None]
    vectors = np.cross(b - a, c - a)
    size = np.linalg.norm(vectors, axis=2)
    facing = (vectors * normals).sum(axis=2) / np.maximum(
        size * np.linalg.norm(normals, axis=2), 1e-300
    )
    sides = ((b - a) ** 2).sum(axis=2) + ((c - a) ** 2).sum(axis=2) + ((c - b) ** 2).sum(axis=2)
    return np.asarray(sides * (1.0 + _AWAY * np.maximum(0.7 - facing, 0.0)))


def _cheapest_strip(step_p: FloatArray, step_q: FloatArray, p: IntArray, q: IntArray) -> IntArray:
    """Return the faces of the cheapest way from (0, 0) to the ends of both chains."""
    rows, columns = len(p), len(q)
    total = np.full((rows, columns), np.inf)
    by_p = np.zeros((rows, columns), bool)
    total[0, 0] = 0.0
    for diagonal in range(1, rows + columns - 1):
        i = np.arange(max(0, diagonal - columns + 1), min(rows, diagonal + 1))
        j = diagonal - i
        from_p = np.full(len(i), np.inf)
        from_q = np.full(len(i), np.inf)
        some, other = i > 0, j > 0
        from_p[some] = total[i[some] - 1, j[some]] + step_p[i[some] - 1, j[some]]
        from_q[other] = total[i[other], j[other] - 1] + step_q[i[other], j[other] - 1]
        by_p[i, j] = from_p <= from_q
        total[i, j] = np.minimum(from_p, from_q)
    at_p, at_q = rows - 1, columns - 1
    faces = []
    while at_p or at_q:
        if by_p[at_p, at_q]:
            faces.append((p[at_p], p[at_p - 1], q[at_q]))
            at_p -= 1
        else:
            faces.append((q[at_q - 1], q[at_q], p[at_p]))
            at_q -= 1
    return np.array(faces[::-1], np.int64).reshape(-1, 3)

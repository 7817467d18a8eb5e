"""Where the least-work search begins: a layout in which no face is folded, decided exactly.

The conformal start is quick and close; where it folds, or crowds faces together, it is mended or
one with the rim on a circle stands in for it, which cannot fold.
"""

from collections.abc import Iterator, Sequence
from itertools import islice

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.blank.conformal import conformal_layout
from geometry.blank.convex_rim import ConvexRim
from geometry.blank.ordering import nested_dissection
from geometry.blank.orientation import folded_or_flat
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, edge_table, face_areas, rims

CROWDED = 1e3
"""Spread of the faces' scale on a layout (their flat over formed lengths, largest over smallest)
above which it is no good start though no face is folded."""

MENDING_RINGS = (1, 2, 4, 8)
EVENING_ROUNDS = 40
"""Rounds after which the rim on a circle is given up; a tube 25 times as deep as wide takes 11."""


class NoFoldFreeStartError(GeometryError):
    """No layout without folds was found: the numbers have too few digits for so odd a panel.

    Attributes
    ----------
    faces : (k,) int
        Folded in the best layout found.
    place : (3,) float, mm
        The middle of the first of them.
    """

    def __init__(self, faces: IntArray, place: FloatArray) -> None:
        self.faces, self.place = faces, place
        super().__init__(f"{len(faces)} faces could not be laid out without a fold")


def fold_free_start(mesh: TriMesh, rim: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return a layout without folded faces, at the panel's own area, and one for ordering.

    Parameters
    ----------
    mesh : TriMesh
        One disk without holes.
    rim : (k,) int
        Its rim.

    Returns
    -------
    (n, 2) float, mm
        The start.
    (n, 2) float
        A layout without folds, whose edges never tangle: for ordering unknowns.

    Raises
    ------
    NoFoldFreeStartError
    """
    used = np.unique(mesh.faces)
    if len(used) < len(mesh.vertices):
        return _with_loose_vertices(mesh, rim, used)
    order = nested_dissection(mesh.vertices, edge_table(mesh.faces).edges)
    convex = ConvexRim(mesh, rim, order)
    crowded: FloatArray | None = None
    least: IntArray | None = None
    for layout in _candidates(mesh, rim, order, convex):
        if not (np.isfinite(layout).all() and np.ptp(layout, axis=0).all()):
            continue
        flat = at_panel_area(layout, mesh)
        folded = np.flatnonzero(folded_or_flat(flat, mesh.faces))
        if least is None or len(folded) < len(least):
            least = folded
        if len(folded) or not is_unfolded(flat, mesh.faces, [rim]):
            continue
        if scale_spread(flat, mesh) < CROWDED:
            return flat, flat
        crowded = flat
    if crowded is None:
        faces = np.arange(0) if least is None else least
        raise NoFoldFreeStartError(faces, mesh.vertices[mesh.faces[faces[0]]].mean(axis=0))
    return crowded, crowded


def _with_loose_vertices(
    mesh: TriMesh, rim: IntArray, used: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Lay the rest out and put vertices of no face in the middle."""
    place = np.zeros(len(mesh.vertices), np.int64)
    place[used] = np.arange(len(used))
    start, ordering = fold_free_start(TriMesh(mesh.vertices[used], place[mesh.faces]), place[rim])
    whole = np.zeros((2, len(mesh.vertices), 2))
    whole[:, used] = start, ordering
    return whole[0], whole[1]


def is_unfolded(flat_vertices: FloatArray, faces: IntArray, loops: Sequence[IntArray]) -> bool:
    """Return whether no face is folded and none are wound more than once round a vertex.

    Parameters
    ----------
    flat_vertices : (n, 2) float
    faces : (m, 3) int
        One piece without handles.
    loops : sequence of (k,) int
        All its rims.

    The first is decided exactly. Where it holds, angles round an inner vertex add to a whole
    number of turns, which is one everywhere if all rims together turn by 2 pi (2 - rims).
    """
    if folded_or_flat(flat_vertices, faces).any():
        return False
    on_rim = np.zeros(len(flat_vertices), bool)
    on_rim[np.concatenate(loops)] = True
    at_rim = faces[on_rim[faces].any(axis=1)]
    x, y = flat_vertices[at_rim].transpose(2, 0, 1)
    one_x, one_y, two_x, two_y = (np.roll(c, k, axis=1) - c for k in (-1, 1) for c in (x, y))
    angles = np.arctan2(one_x * two_y - one_y * two_x, one_x * two_x + one_y * two_y)
    turning = np.pi * on_rim.sum() - angles[on_rim[at_rim]].sum()
    return bool(abs(turning - 2.0 * np.pi * (2 - len(loops))) < np.pi)


def _candidates(
    mesh: TriMesh, rim: IntArray, order: IntArray, convex: ConvexRim
) -> Iterator[FloatArray]:
    """Yield layouts, the best first, each made only when asked for."""
    try:
        conformal = conformal_layout(mesh, rim, order)
    except RuntimeError:  # the factorisation meets a pivot of nothing on the worst slivers
        conformal = np.full((len(mesh.vertices), 2), np.nan)
    if np.isfinite(conformal).all():
        yield conformal
        folded = folded_or_flat(conformal, mesh.faces)
        for rings in MENDING_RINGS if folded.any() else ():
            conformal = convex.mended(conformal, folded, rings)
            yield conformal
            folded = folded_or_flat(conformal, mesh.faces)
    yield from islice(convex.evened(), EVENING_ROUNDS)
    yield convex.even()


def convex_rim_layout(mesh: TriMesh, rim: IntArray) -> FloatArray:
    """Return (n, 2): the rim on a circle, every inner vertex the mean of its neighbours."""
    order = nested_dissection(mesh.vertices, edge_table(mesh.faces).edges)
    return ConvexRim(mesh, rim, order).even()


def scale_spread(flat_vertices: FloatArray, mesh: TriMesh) -> float:
    """Return how much more room the roomiest face has than the most crowded: a ratio of lengths."""
    corner = flat_vertices[mesh.faces]
    one, two = (corner[:, 1:] - corner[:, :1]).transpose(1, 2, 0)
    room = np.abs(one[0] * two[1] - one[1] * two[0]) / face_areas(mesh.vertices, mesh.faces)
    least = float(room.min())
    return float(np.sqrt(room.max() / least)) if least > 0.0 else np.inf


def capped(mesh: TriMesh, rim: IntArray) -> TriMesh:
    """Return the mesh with every rim but one closed by a fan to a new vertex in its middle."""
    vertices, faces = [mesh.vertices], [mesh.faces]
    count = len(mesh.vertices)
    for loop in rims(mesh):
        if set(loop.tolist()) == set(rim.tolist()):
            continue
        vertices.append(mesh.vertices[loop].mean(axis=0)[None])
        faces.append(np.stack([np.roll(loop, -1), loop, np.full(len(loop), count)], axis=1))
        count += 1
    return TriMesh(np.concatenate(vertices), np.concatenate(faces)) if len(faces) > 1 else mesh


def at_panel_area(flat_vertices: FloatArray, mesh: TriMesh) -> FloatArray:
    """Return the layout scaled so that its area is the panel's."""
    flat = np.column_stack([flat_vertices, np.zeros(len(flat_vertices))])
    ratio = face_areas(mesh.vertices, mesh.faces).sum() / face_areas(flat, mesh.faces).sum()
    centred: FloatArray = flat_vertices - flat_vertices.mean(axis=0)
    return centred * float(np.sqrt(ratio))

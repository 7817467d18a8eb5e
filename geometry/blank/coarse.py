"""A panel told by few triangles: laid flat at little cost, it shows the panel where to begin.

Vertices some steps apart stand for the cells of the surface nearest to them; three cells that
meet make a triangle. What lies between is carried over by the slopes at the cells' vertices.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, edge_lengths, edge_table, face_areas, rims

RIM_STEP = 3
"""Of the panel's edges: so far apart are vertices of a rim that stand for their neighbours."""

_THIN = 1e-6
"""Of the usual triangle: three places in one line make none to go by."""


@dataclass(frozen=True, eq=False)
class CoarsePanel:
    """Few triangles in place of a panel's many.

    Attributes
    ----------
    mesh : TriMesh
        c vertices, vertices of the panel they were made for.
    sites : (c,) int
        Which vertices they are, of the panel they were made for.
    face : (n,) int
        The coarse triangle that stands below each vertex of the panel.
    share : (n, 3) float
        Where on it: how much each of its corners counts. They add up to 1 and may be below 0.
    """

    mesh: TriMesh
    sites: IntArray
    face: IntArray
    share: FloatArray

    @property
    def carrying(self) -> csr_array:
        """Return the (n, c) matrix that carries coarse vertices' values over, straight between."""
        n = len(self.face)
        at = (np.repeat(np.arange(n), 3), self.mesh.faces[self.face].ravel())
        return csr_array((self.share.ravel(), at), shape=(n, len(self.sites)))

    def carried(self, vertices: FloatArray, flat_vertices: FloatArray) -> FloatArray:
        """Return (n, 2), mm: the panel's vertices laid out as its few triangles are.

        Each vertex is placed from the three corners of the triangle below it, by their mean
        slopes, so that the layout bends as smoothly as the few triangles can tell.

        Parameters
        ----------
        vertices : (n, 3) float, mm
            Of the panel that this stands for.
        flat_vertices : (c, 2) float, mm
        """
        slopes = self._slopes(flat_vertices)
        flat = np.zeros((len(vertices), 2))
        for corner in range(3):
            at = self.mesh.faces[self.face, corner]
            reach = vertices - self.mesh.vertices[at]
            placed = flat_vertices[at] + np.einsum("nij,nj->ni", slopes[at], reach)
            flat += self.share[:, corner, None] * placed
        return flat

    def _slopes(self, flat_vertices: FloatArray) -> FloatArray:
        """Return (c, 2, 3): the mean slope of the layout at every coarse vertex, by area."""
        corners, flat = self.mesh.vertices[self.mesh.faces], flat_vertices[self.mesh.faces]
        e1, e2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        normal = np.cross(e1, e2)  # twice the area long
        squared = (normal**2).sum(axis=1)[:, None]
        by_first, by_second = np.cross(e2, normal) / squared, np.cross(normal, e1) / squared
        d1, d2 = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
        slope = d1[:, :, None] * by_first[:, None] + d2[:, :, None] * by_second[:, None]
        area = np.sqrt(squared)[:, :, None]
        total = np.zeros((len(self.mesh.vertices), 2, 3))
        weight = np.zeros((len(self.mesh.vertices), 1, 1))
        for corner in range(3):
            np.add.at(total, self.mesh.faces[:, corner], area * slope)
            np.add.at(weight, self.mesh.faces[:, corner], area)
        return total / weight


def triangles_below(
    points: FloatArray, site_of_point: IntArray, coarse: TriMesh
) -> tuple[IntArray, FloatArray]:
    """Return, of the triangles about each point's site, the one it lies within, and where.

    Where it lies within none, the one it is least beyond.

    Parameters
    ----------
    points : (k, 3) float, mm
    site_of_point : (k,) int
        A vertex of the few triangles near each.
    coarse : TriMesh
        Every vertex in some triangle.

    Returns
    -------
    (k,) int
        The triangle.
    (k, 3) float
        How much each of its corners counts. They add up to 1 and may be below 0.
    """
    faces = coarse.faces
    corner_order = np.argsort(faces.ravel(), kind="stable")
    count = np.bincount(faces.ravel(), minlength=len(coarse.vertices))
    start = np.concatenate([[0], np.cumsum(count)[:-1]])
    best = np.full(len(points), -np.inf)
    face = np.zeros(len(points), np.int64)
    share = np.zeros((len(points), 3))
    for turn in range(int(count.max())):
        there = np.flatnonzero((turn < count[site_of_point]) & (best < 0.0))
        candidate = corner_order[start[site_of_point[there]] + turn] // 3
        shares = _shares(points[there], coarse.vertices[faces[candidate]])
        inside = shares.min(axis=1)
        better = inside > best[there]
        taken = there[better]
        best[taken], face[taken], share[taken] = inside[better], candidate[better], shares[better]
    return face, share


def _shares(points: FloatArray, corners: FloatArray) -> FloatArray:
    """Return the (k, 3) barycentric coordinates of points dropped onto triangles' planes."""
    e1, e2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    reach = points - corners[:, 0]
    aa, ab, bb = (e1 * e1).sum(1), (e1 * e2).sum(1), (e2 * e2).sum(1)
    ra, rb = (reach * e1).sum(1), (reach * e2).sum(1)
    scale = aa * bb - ab * ab
    second, third = (bb * ra - ab * rb) / scale, (aa * rb - ab * ra) / scale
    return np.stack([1.0 - second - third, second, third], axis=1)


def coarse_panel(mesh: TriMesh) -> CoarsePanel | None:
    """Return about a ninth of a panel's triangles that stand for it, or None if that fails.

    It fails where the cells do not meet in threes everywhere, or three of their places lie in one
    line: on ragged or very narrow panels.

    Parameters
    ----------
    mesh : TriMesh
        One piece, manifold.
    """
    n = len(mesh.vertices)
    table = edge_table(mesh.faces)
    edges = table.edges
    both = np.concatenate([edges, edges[:, ::-1]])
    loops = rims(mesh, table)
    on_rim = np.zeros(n, bool)
    on_rim[np.concatenate(loops)] = True
    rim_site = np.full(n, -1)
    step = RIM_STEP * float(np.median(edge_lengths(mesh.vertices, edges)))
    for loop in loops:
        if len(loop) < 3 * RIM_STEP:
            return None
        rim_site[loop] = loop[_thinned(mesh.vertices[loop], step)]
    near = csr_array((np.ones(len(both), np.int8), (both[:, 0], both[:, 1])), shape=(n, n))
    inner = _far_apart(near, on_rim)
    length = np.tile(edge_lengths(mesh.vertices, edges), 2)
    graph = csr_array((length, (both[:, 0], both[:, 1])), shape=(n, n))
    sources = np.concatenate([np.flatnonzero(on_rim), inner])
    _, _, nearest = dijkstra(graph, indices=sources, min_only=True, return_predecessors=True)
    cell = np.where(on_rim[nearest], rim_site[nearest], nearest)
    return _of_cells(mesh, cell, len(loops))


def _thinned(loop: FloatArray, step_mm: float) -> IntArray:
    """Return, for every place round a loop, the place that stands for it.

    By length: beside a seam places lie much closer than the triangles are wide.
    """
    lengths = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1)
    total = float(lengths.sum())
    gone = np.cumsum(lengths) - lengths
    stops = np.linspace(0.0, total, max(3, int(total / step_mm)), endpoint=False)
    before = np.searchsorted(gone, stops, side="right") - 1
    after = np.minimum(before + 1, len(loop) - 1)
    nearer = stops - gone[before] > gone[after] - stops
    kept = np.unique(np.where(nearer & (after > before), after, before))
    middle = (gone[kept] + np.append(gone[kept[1:]], total + gone[kept[0]])) / 2.0
    return np.asarray(np.append(kept, kept[0])[np.searchsorted(middle, gone, side="right")])


def _far_apart(near: csr_array, on_rim: BoolArray) -> IntArray:
    """Return vertices three or more edges apart, none next to a rim, as many as will go in.

    Each has a fixed chance number; of the vertices within two edges the highest stays.
    """
    n = near.shape[0]
    beside = on_rim | (np.asarray(near @ on_rim.astype(np.int8)) > 0)
    within = csr_array(near @ near)
    rows, starts = within.indices, within.indptr[:-1]
    chance = np.random.default_rng(0).permutation(n) + 1
    open_, chosen = ~beside, np.zeros(n, bool)
    while open_.any():
        rank = np.where(open_, chance, 0)
        highest = np.maximum.reduceat(rank[rows], starts)
        highest = np.maximum(highest, rank)
        new = open_ & (rank == highest)
        chosen |= new
        open_ &= ~(np.maximum.reduceat(new[rows].astype(np.int8), starts) > 0) & ~new
    return np.flatnonzero(chosen)


def _of_cells(mesh: TriMesh, cell: IntArray, rim_count: int) -> CoarsePanel | None:
    """Return the triangles made where three cells meet, if they are one panel like the first."""
    sites, site_of_vertex = np.unique(cell, return_inverse=True)
    corners = site_of_vertex[mesh.faces]
    apart = (corners != np.roll(corners, 1, axis=1)).all(axis=1)
    faces = np.ascontiguousarray(corners[apart])
    table = edge_table(faces)
    edges, count = len(table.edges), len(faces)
    everywhere = len(np.unique(faces)) == len(sites) and table.face_count.max() == 2
    if not everywhere or len(sites) - edges + count != 2 - rim_count:  # Euler's count
        return None
    coarse = TriMesh(mesh.vertices[sites], faces)
    areas = face_areas(coarse.vertices, faces)
    if len(rims(coarse, table)) != rim_count or areas.min() < _THIN * float(np.median(areas)):
        return None
    face, share = triangles_below(mesh.vertices, site_of_vertex, coarse)
    return CoarsePanel(coarse, sites, face, share)

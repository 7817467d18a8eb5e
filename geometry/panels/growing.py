"""The surface while it is being cut: seams go in one after another as edges of the mesh."""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import (
    EdgeTable,
    NearestPoint,
    NonManifoldError,
    PathFinder,
    SurfacePath,
    TriMesh,
    edge_table,
    rims,
)
from geometry.panels.seam import SeamCrossesItselfError, SeamPath
from geometry.panels.splitting import (
    ChainsCrossError,
    face_polygon,
    split_by,
    triangulated,
)

NEAR_CORNER = 1e-3
"""Part of an edge within which a crossing gives way to the edge's end, to spare needles.

The seam moves by a hundredth of a millimetre, the surface not at all.
"""

_NOTHING = 1e-300


@dataclass(frozen=True, eq=False)
class Growing:
    """A mesh with seams laid into it.

    Attributes
    ----------
    vertices, outside : (n, 3) float, mm
    faces : (m, 3) int
    parent : (m,) int
        The face of the first surface each face is part of.
    seams : tuple of SeamPath
        Those laid so far.
    """

    vertices: FloatArray
    outside: FloatArray
    faces: IntArray
    parent: IntArray
    seams: tuple[SeamPath, ...] = field(default=())

    @property
    def mesh(self) -> TriMesh:
        """Return the mesh as it stands."""
        return TriMesh(self.vertices, self.faces)

    @cached_property
    def table(self) -> EdgeTable:
        """The edges of the mesh as it stands."""
        return edge_table(self.faces)

    @cached_property
    def line_edges(self) -> IntArray:
        """The (k, 2) edges of rims and seams, smaller vertex first."""
        rim = self.table.edges[self.table.face_count == 1]
        edges = [rim, *(seam.edges for seam in self.seams)]
        return np.unique(np.sort(np.concatenate(edges), axis=1), axis=0)

    @cached_property
    def hole_rims(self) -> tuple[IntArray, ...]:
        """The loops of vertices about open holes: all rims but the longest of each piece."""
        try:
            loops = rims(self.mesh, self.table)
        except NonManifoldError:  # rims that touch: nobody can tell which is which
            return ()
        if len(loops) < 2:
            return ()
        size = len(self.vertices)
        edges = self.table.edges
        graph = coo_array((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(size, size))
        _, piece = connected_components(graph, directed=False)
        outer: set[int] = set()
        holes = []
        for loop in loops:  # longest first
            if int(piece[loop[0]]) in outer:
                holes.append(loop)
            outer.add(int(piece[loop[0]]))
        return tuple(holes)

    @cached_property
    def skin(self) -> NearestPoint:
        """Nearest points of the scanned face as it stands."""
        return NearestPoint(TriMesh(self.outside, self.faces))

    @cached_property
    def finder(self) -> PathFinder:
        """Paths over the mesh as it stands."""
        return PathFinder(self.mesh, self.table)

    def faces_beside(self, edges: IntArray) -> IntArray:
        """Return the (k, 2) faces beside (k, 2) edges, -1 where there is none."""
        span = np.array([len(self.vertices), 1])
        keys = self.table.edges @ span
        rows = np.searchsorted(keys, np.sort(edges, axis=1) @ span)
        return np.asarray(self.table.faces_of_edge[rows])

    def free_ends(self) -> list[int]:
        """Return the ends of open seams that meet no rim and no other seam."""
        count = np.bincount(self.line_edges.ravel(), minlength=len(self.vertices))
        ends = [
            v for seam in self.seams if not seam.closed for v in seam.vertices[[0, -1]].tolist()
        ]
        return [vertex for vertex in ends if count[vertex] == 1]


def with_seam(grown: Growing, name: str, path: SurfacePath, *, closed: bool) -> Growing:
    """Return the surface with a path over it made edges.

    Where the path crosses an edge there is a new vertex, or, hard by the edge's end and where
    that end lies on no rim or seam, the path goes through the end. The surface stays what it was.

    Raises
    ------
    SeamCrossesItselfError
    """
    for near_corner in (NEAR_CORNER, 0.0):
        after = _with_seam(grown, name, path, closed=closed, near_corner=near_corner)
        crowded = after.table.edges[after.table.face_count > 2]
        if not len(crowded):
            return after
    raise SeamCrossesItselfError(name, after.outside[crowded[0, 0]])


def _with_seam(
    grown: Growing, name: str, path: SurfacePath, *, closed: bool, near_corner: float
) -> Growing:
    """Return the surface with a path made edges.

    Where a path that comes back close by is drawn to one corner twice, pieces of faces may share
    edges that they should not.
    """
    nodes, grown, on_edge = _nodes_of(grown, path, closed=closed, near_corner=near_corner)
    chain = _without_repeats(nodes, closed=closed)
    if len(set(chain)) != len(chain):
        again = next(node for k, node in enumerate(chain) if node in chain[:k])
        raise SeamCrossesItselfError(name, grown.outside[again])
    inner = (path.vertex < 0) & (path.edge[:, 0] < 0)
    pieces = _pieces(nodes, path.faces, inner)
    if closed and inner[0]:
        _join_at_start(pieces, nodes[0])
    try:
        grown = _faces_split(grown, on_edge, pieces)
    except ChainsCrossError as crossing:
        raise SeamCrossesItselfError(name, grown.outside[crossing.node]) from None
    seams = tuple(_with_nodes(seam, on_edge) for seam in grown.seams)
    return replace(grown, seams=(*seams, SeamPath(name, np.array(chain, np.int64), closed)))


def _nodes_of(
    grown: Growing, path: SurfacePath, *, closed: bool, near_corner: float
) -> tuple[list[int], Growing, dict[tuple[int, int], list[int]]]:
    """Return the vertex of every path point, the surface with them, new ones per edge in order."""
    nodes = _old_vertices(grown, path, near_corner)
    vertices, outside = grown.vertices, grown.outside
    new_places: list[tuple[FloatArray, FloatArray]] = []
    on_edge: dict[tuple[int, int], list[tuple[float, int]]] = {}
    for k in np.flatnonzero(np.array(nodes) < 0).tolist():
        if closed and k == len(nodes) - 1:
            nodes[k] = nodes[0]
            continue
        (a, b), along = path.edge[k].tolist(), float(path.along[k])
        same = [n for at, n in on_edge.get((a, b), []) if a >= 0 and abs(at - along) < 1e-9]
        nodes[k] = same[0] if same else len(vertices) + len(new_places)
        if not same:
            new_places.append(_interpolated(grown, path, k))
            if a >= 0:
                on_edge.setdefault((a, b), []).append((along, nodes[k]))
    if new_places:
        vertices = np.concatenate([vertices, np.stack([place for place, _ in new_places])])
        outside = np.concatenate([outside, np.stack([out for _, out in new_places])])
    ordered = {edge: [node for _, node in sorted(found)] for edge, found in on_edge.items()}
    return nodes, replace(grown, vertices=vertices, outside=outside), ordered


def _old_vertices(grown: Growing, path: SurfacePath, near_corner: float) -> list[int]:
    """Return the vertex there already that each path point is at or gives way to, or -1.

    A crossing next to an end of its own edge gives way to that end: else the path would run along
    the edge. Along a rim it may.
    """
    held = np.zeros(len(grown.vertices), bool)
    held[grown.line_edges] = True
    span = np.array([len(grown.vertices), 1])
    along_rim = np.isin(path.edge @ span, grown.table.edges[grown.table.face_count == 1] @ span)
    nodes: list[int] = path.vertex.tolist()
    for k, (a, b) in enumerate(path.edge.tolist()):
        if nodes[k] < 0 <= a:
            nodes[k] = _end_to_take(a, b, float(path.along[k]), held, near_corner)
    for order in (range(1, len(nodes)), range(len(nodes) - 2, -1, -1)):
        back = -1 if order.step > 0 else 1
        for k in order:
            edge = path.edge[k].tolist()
            beside = nodes[k + back]
            inner = 0 < k < len(nodes) - 1 and not along_rim[k]
            if nodes[k] < 0 <= edge[0] and beside in edge and inner:
                nodes[k] = beside
    return nodes


def _end_to_take(a: int, b: int, along: float, held: BoolArray, near_corner: float) -> int:
    """Return the end of an edge that a crossing hard by it gives way to, or -1."""
    if along < near_corner and not held[a]:
        return a
    if along > 1.0 - near_corner and not held[b]:
        return b
    return -1


def _interpolated(grown: Growing, path: SurfacePath, k: int) -> tuple[FloatArray, FloatArray]:
    """Return a path point's place on the middle of the metal and outside."""
    a, b = path.edge[k]
    if a >= 0:
        t = path.along[k]
        return (
            (1 - t) * grown.vertices[a] + t * grown.vertices[b],
            (1 - t) * grown.outside[a] + t * grown.outside[b],
        )
    face = grown.faces[path.faces[min(k, len(path.faces) - 1)]]
    system = np.vstack([grown.vertices[face].T, np.ones(3)])
    share = np.linalg.lstsq(system, np.append(path.points[k], 1.0), rcond=None)[0]
    return share @ grown.vertices[face], share @ grown.outside[face]


def _without_repeats(nodes: list[int], *, closed: bool) -> list[int]:
    chain = [node for k, node in enumerate(nodes) if k == 0 or node != nodes[k - 1]]
    if closed and len(chain) > 1 and chain[0] == chain[-1]:
        chain.pop()
    return chain


def _pieces(nodes: list[int], faces: IntArray, inner: BoolArray) -> dict[int, list[list[int]]]:
    """Return, for every face, the chains of nodes that run across it from outline to outline."""
    pieces: dict[int, list[list[int]]] = {}
    before = -1
    for k, face in enumerate(faces.tolist()):
        if nodes[k] == nodes[k + 1]:
            continue
        chains = pieces.setdefault(face, [])
        if face == before and inner[k] and chains and chains[-1][-1] == nodes[k]:
            chains[-1].append(nodes[k + 1])
        else:
            chains.append([nodes[k], nodes[k + 1]])
        before = face
    return pieces


def _join_at_start(pieces: dict[int, list[list[int]]], start: int) -> None:
    """Make one chain of a closed seam's last and first piece where they meet inside a face."""
    for chains in pieces.values():
        ending = [chain for chain in chains if chain[-1] == start]
        starting = [chain for chain in chains if chain[0] == start]
        if ending and starting and ending[0] is not starting[0]:
            chains.remove(starting[0])
            ending[0].extend(starting[0][1:])


def _faces_split(
    grown: Growing,
    on_edge: dict[tuple[int, int], list[int]],
    pieces: dict[int, list[list[int]]],
) -> Growing:
    touched = set(pieces)
    if on_edge:
        beside = grown.faces_beside(np.array(list(on_edge), np.int64))
        touched |= set(beside[beside >= 0].tolist())
    new_faces: list[tuple[int, int, int]] = []
    new_parent: list[int] = []
    for face in sorted(touched):
        triangles = _one_face(grown, face, on_edge, pieces.get(face, []))
        new_faces += triangles
        new_parent += [int(grown.parent[face])] * len(triangles)
    keep = np.ones(len(grown.faces), bool)
    keep[list(touched)] = False
    return replace(
        grown,
        faces=np.concatenate([grown.faces[keep], np.array(new_faces, np.int64).reshape(-1, 3)]),
        parent=np.concatenate([grown.parent[keep], np.array(new_parent, np.int64)]),
    )


def _one_face(
    grown: Growing,
    face: int,
    on_edge: dict[tuple[int, int], list[int]],
    chains: list[list[int]],
) -> list[tuple[int, int, int]]:
    corners = grown.faces[face].tolist()
    on_side = []
    for k in range(3):
        a, b = corners[k], corners[(k + 1) % 3]
        nodes = on_edge.get((min(a, b), max(a, b)), [])
        on_side.append(nodes if a < b else nodes[::-1])
    outline = face_polygon(corners, on_side)
    polygons = [outline]
    for chain in sorted(chains, key=len, reverse=True):
        polygons = split_by(polygons, chain)
    everything = sorted({node for polygon in polygons for node in polygon})
    place = _in_plane(grown.vertices[corners], grown.vertices[everything], everything)
    return [triangle for polygon in polygons for triangle in triangulated(polygon, place)]


def _in_plane(corners: FloatArray, points: FloatArray, names: list[int]) -> dict[int, FloatArray]:
    """Return places in the plane of a face, counter-clockwise seen from outside.

    A face without area, between seams that lie on each other, has all of them on a line.
    """
    x = corners[1] - corners[0]
    x = x / max(float(np.linalg.norm(x)), _NOTHING)
    y = corners[2] - corners[0]
    y = y - (y @ x) * x
    y = y / max(float(np.linalg.norm(y)), _NOTHING)
    flat = np.stack([(points - corners[0]) @ x, (points - corners[0]) @ y], axis=1)
    return dict(zip(names, flat, strict=True))


def _with_nodes(seam: SeamPath, on_edge: dict[tuple[int, int], list[int]]) -> SeamPath:
    """Return an earlier seam with the vertices that a later one made on it."""
    vertices: list[int] = []
    for a, b in seam.edges.tolist():
        nodes = on_edge.get((min(a, b), max(a, b)), [])
        vertices += [a, *(nodes if a < b else nodes[::-1])]
    if not seam.closed:
        vertices.append(int(seam.vertices[-1]))
    return replace(seam, vertices=np.array(vertices, np.int64))

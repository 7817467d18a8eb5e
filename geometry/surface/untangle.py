"""A surface moved inward made sound again: edges that shrank to nothing drawn together."""

from dataclasses import replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import NearestPoint, TriMesh
from geometry.surface.collapse import with_short_edges_collapsed
from geometry.surface.flip import with_edges_flipped
from geometry.surface.net import (
    FIXED,
    FREE,
    ON_LINE,
    Net,
    agreement,
    compacted,
    edges_of,
    evenness,
    expanded,
    line_of,
    neighbours,
    with_lines,
)

_LEAST_KEPT = 0.3
_LEAST_AGREEMENT = 0.45
_LEAST_EVENNESS = 0.1
_ROUNDS = 10
_SLIDE_FROM_ROUND = 2
_RINGS = 4


def untangled(net: Net, outside: FloatArray) -> Net:
    """Return a net moved inward without folds and needles; what is sound is left as it is.

    Edges that kept under 0.3 of their run outside are drawn together and edges flipped; where that
    is not enough, vertices of bad faces are slid halfway to the middle of their neighbours.

    Parameters
    ----------
    net : Net
        Vertices inside, normals of the outside.
    outside : (j, 3) float, mm
        Where the vertices of the first net were: that of vertex i is `outside[net.came_from[i]]`.
    """
    kept = _kept_run(net, edges_of(net.faces).ends, outside)
    short = edges_of(net.faces).ends[kept < _LEAST_KEPT]
    start = np.zeros(len(net.vertices), bool)
    start[short] = True
    start[net.faces[_bad_faces(net)]] = True
    if not start.any():
        return net
    for _ in range(_RINGS):
        start[net.faces[start[net.faces].any(axis=1)]] = True
    inside = np.asarray(start[net.faces].all(axis=1))
    region, outer_vertex = _region(net, inside)
    return _joined(net, inside, _worked(region, outside), outer_vertex)


def _kept_run(net: Net, ends: IntArray, outside: FloatArray) -> FloatArray:
    """Return how much of its run outside each edge has kept; below 0 if turned round."""
    inside = net.vertices[ends[:, 1]] - net.vertices[ends[:, 0]]
    there = outside[net.came_from]
    before = there[ends[:, 1]] - there[ends[:, 0]]
    square = np.maximum((before * before).sum(axis=1), 1e-300)
    return np.asarray((inside * before).sum(axis=1) / square)


def _region(net: Net, inside: BoolArray) -> tuple[Net, IntArray]:
    """Return some faces as a net of their own, fixed where it joins the rest, and its vertices."""
    used, faces = np.unique(net.faces[inside], return_inverse=True)
    faces = faces.reshape(-1, 3)
    kind = net.kind[used].copy()
    elsewhere = np.zeros(len(net.vertices), bool)
    elsewhere[net.faces[~inside]] = True
    kind[elsewhere[used]] = FIXED
    table = edges_of(faces)
    rim = table.ends[table.is_rim]
    kind[rim] = np.maximum(kind[rim], ON_LINE)
    line = line_of(net, used[table.ends])
    held = (line > 0) & ~table.is_rim
    region = Net(
        vertices=net.vertices[used],
        faces=faces,
        normals=net.normals[used],
        size=net.size[used],
        kind=kind,
        line_edges=np.empty((0, 2), np.int64),
        line_of_edge=np.empty(0, np.int64),
        came_from=net.came_from[used],
        guessed=net.guessed[inside],
    )
    edges = np.concatenate([rim, table.ends[held]])
    return with_lines(
        region, edges, np.concatenate([np.zeros(len(rim), np.int64), line[held]])
    ), used


def _worked(net: Net, outside: FloatArray) -> Net:
    """Return a net untangled, its edges drawn together and flipped all over."""

    def kept_run(now: Net, ends: IntArray) -> FloatArray:
        return _kept_run(now, ends, outside)

    for turn in range(_ROUNDS):
        net = with_edges_flipped(net)
        net = with_short_edges_collapsed(net, below=_LEAST_KEPT, shortness=kept_run)
        bad = _bad_faces(net)
        if not len(bad):
            break
        if turn >= _SLIDE_FROM_ROUND:
            net = _slid(net, bad)
    return net


def _joined(net: Net, inside: BoolArray, region: Net, outer_vertex: IntArray) -> Net:
    """Return the net with the faces inside replaced by those of the region worked on."""
    index = np.full(int(net.came_from.max()) + 1, -1, np.int64)
    index[net.came_from[outer_vertex]] = outer_vertex
    home = index[region.came_from]
    vertices, normals = net.vertices.copy(), net.normals.copy()
    vertices[home], normals[home] = region.vertices, region.normals
    joined = replace(
        net,
        vertices=vertices,
        normals=normals,
        faces=np.concatenate([net.faces[~inside], home[region.faces]]),
        guessed=np.concatenate([net.guessed[~inside], region.guessed]),
    )
    there = edges_of(joined.faces).ends
    span = len(net.vertices)
    known = np.isin(net.line_edges @ [span, 1], there @ [span, 1])
    worked = region.line_of_edge > 0
    edges = np.concatenate([net.line_edges[known], home[region.line_edges[worked]]])
    line = np.concatenate([net.line_of_edge[known], region.line_of_edge[worked]])
    order = np.unique(np.sort(edges, axis=1) @ [span, 1], return_index=True)[1]
    return compacted(with_lines(joined, edges[order], line[order]))


def outside_of(net: Net, before: TriMesh, distance_mm: float) -> FloatArray:
    """Return where a net moved inward and untangled lies on the mesh it was moved from.

    Vertices of faces that are as they were keep their place; others, where vertices have been
    drawn together on a mitre, go to what lies straight out from them: the crease's own edge.
    """
    places = before.vertices[net.came_from].copy()
    old = _keys(before.faces, len(before.vertices))
    new = _keys(net.came_from[net.faces], len(before.vertices))
    changed = np.unique(net.faces[~np.isin(new, old)])
    if len(changed):
        beyond = net.vertices[changed] + 2.0 * distance_mm * net.normals[changed]
        places[changed] = NearestPoint(before).find(beyond).points
    return places


def _keys(faces: IntArray, vertex_count: int) -> IntArray:
    """Return a number for each face that does not depend on which corner comes first."""
    first = np.argmin(faces, axis=1)
    a, b, c = (faces[np.arange(len(faces)), (first + k) % 3] for k in range(3))
    return np.asarray((a * vertex_count + b) * vertex_count + c)


def _bad_faces(net: Net) -> IntArray:
    folded = agreement(net.vertices, net.normals, net.faces) < _LEAST_AGREEMENT
    return np.flatnonzero(folded | (evenness(net.vertices, net.faces) < _LEAST_EVENNESS))


def _slid(net: Net, faces: IntArray) -> Net:
    """Return the net with the free vertices of faces moved halfway to their neighbours' middle."""
    moving = np.unique(net.faces[faces])
    moving = moving[net.kind[moving] == FREE]
    ring, owner = expanded(*neighbours(net.faces, len(net.vertices)), moving)
    count = np.bincount(owner, minlength=len(moving))
    vertices = net.vertices.copy()
    for axis in range(3):
        total = np.bincount(owner, net.vertices[ring, axis], minlength=len(moving))
        vertices[moving, axis] = (vertices[moving, axis] + total / count) / 2.0
    return replace(net, vertices=vertices)

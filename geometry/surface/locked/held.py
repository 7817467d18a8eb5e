"""Locked lines put into a mesh as edges, and followed until the working surface is made."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import NearestPoint, PathFinder, SurfacePoint, TriMesh
from geometry.polyline import line_length
from geometry.surface.lines import chains
from geometry.surface.locked.wrong_line import LineOffSurfaceError, LineTooShortError
from geometry.surface.net import Net, edges_of
from geometry.surface.split import split_at

_SNAP = 0.15
_BORROWED = 2.0
_MOST_OFF, _SHORTEST = 2.0, 3.0


@dataclass(frozen=True, eq=False)
class Lined:
    """A mesh with lines along its edges.

    Attributes
    ----------
    vertices, normals : (n, 3) float
    faces : (m, 3) int
    guessed : (m,) bool
    runs : tuple of (k,) int
        The vertices along each line; a closed one repeats its first.
    """

    vertices: FloatArray
    normals: FloatArray
    faces: IntArray
    guessed: BoolArray
    runs: tuple[IntArray, ...]


def over_surface(
    lines: Sequence[FloatArray], mesh: TriMesh, spacing_mm: float
) -> tuple[FloatArray, ...]:
    """Return the lines run along the surface from point to point, as polylines.

    Raises
    ------
    LineOffSurfaceError
        A point lies more than two spacings off the mesh.
    LineTooShortError
        A line is not three spacings long.
    NoPathError
        A line leads from one piece of the scan to another.
    """
    if not lines:
        return ()
    nearest, finder = NearestPoint(mesh), PathFinder(mesh)
    found = []
    for number, points in enumerate(lines):
        at = nearest.find(np.asarray(points, np.float64))
        far = int(np.argmax(at.distances))
        if at.distances[far] > _MOST_OFF * spacing_mm:
            raise LineOffSurfaceError(
                number, points[far], float(at.distances[far]), _MOST_OFF * spacing_mm
            )
        length = line_length(at.points)
        if length < _SHORTEST * spacing_mm:
            raise LineTooShortError(number, points[0], length, _SHORTEST * spacing_mm)
        stops = [SurfacePoint(int(f), b) for f, b in zip(at.faces, at.barycentric, strict=True)]
        found.append(finder.through(stops).points)
    return tuple(found)


def is_closed(line: FloatArray) -> bool:
    """Return whether a polyline ends where it begins."""
    return len(line) > 3 and bool(np.linalg.norm(line[0] - line[-1]) < 1e-6)


def with_line(lined: Lined, line: FloatArray) -> Lined:
    """Return the mesh with one more line led over its faces, near a polyline.

    Parameters
    ----------
    line : (k, 3) float, mm
        Near the mesh; a closed one repeats its first point.
    """
    mesh = TriMesh(lined.vertices, lined.faces)
    at = NearestPoint(mesh).find(line)
    stops = [SurfacePoint(int(f), b) for f, b in zip(at.faces, at.barycentric, strict=True)]
    for end in (0, -1):  # ends lie on vertices, that they can be edges' ends
        corner = np.zeros(3)
        corner[int(np.argmax(stops[end].barycentric))] = 1.0
        stops[end] = SurfacePoint(stops[end].face, corner)
    path = PathFinder(mesh).through(stops)
    kept = path.vertex.copy()
    edge, along = path.edge, path.along
    on_edge = (kept < 0) & (edge[:, 0] >= 0)
    kept[on_edge & (along < _SNAP)] = edge[on_edge & (along < _SNAP), 0]
    kept[on_edge & (along > 1.0 - _SNAP)] = edge[on_edge & (along > 1.0 - _SNAP), 1]
    keys = [
        (int(v), -1) if v >= 0 else (int(a), int(b))
        for v, (a, b), on in zip(kept, edge, on_edge, strict=True)
        if v >= 0 or on
    ]
    shares = along[(kept >= 0) | on_edge]
    order = _without_loops(keys)
    cuts = [(keys[i], float(shares[i])) for i in order if keys[i][1] >= 0]
    split, number_of = _split_edges(lined, cuts)
    stations = [keys[i][0] if keys[i][1] < 0 else number_of[keys[i]] for i in order]
    run = _joined_by_edges(split, stations)
    return replace(split, runs=(*split.runs, run))


def _without_loops(keys: Sequence[tuple[int, int]]) -> list[int]:
    """Return which of a path's places to keep, going round cut out where it comes back.

    The last may be the first: a closed path.

    >>> _without_loops([(1, -1), (2, 3), (4, 5), (2, 3), (6, -1)])
    [0, 3, 4]
    """
    kept: list[int] = []
    at: dict[tuple[int, int], int] = {}
    for number, key in enumerate(keys):
        if key in at and not (number == len(keys) - 1 and key == keys[0]):
            for gone in kept[at[key] :]:
                del at[keys[gone]]
            del kept[len(at) :]
        at[key] = len(kept)
        kept.append(number)
    return kept


def _split_edges(
    lined: Lined, cuts: Sequence[tuple[tuple[int, int], float]]
) -> tuple[Lined, dict[tuple[int, int], int]]:
    """Return the mesh with edges cut at shares of their length, and the new vertices."""
    if not cuts:
        return lined, {}
    table = edges_of(lined.faces)
    n = len(lined.vertices)
    key = table.ends[:, 0] * n + table.ends[:, 1]
    pairs = np.array([pair for pair, _ in cuts])
    rows = np.searchsorted(key, pairs[:, 0] * n + pairs[:, 1])
    share = np.array([part for _, part in cuts])[:, None]
    new = n + np.arange(len(cuts))
    middle = np.full(len(table.ends), -1, np.int64)
    middle[rows] = new
    ends = table.ends[rows]
    places = (1.0 - share) * lined.vertices[ends[:, 0]] + share * lined.vertices[ends[:, 1]]
    normals = (1.0 - share) * lined.normals[ends[:, 0]] + share * lined.normals[ends[:, 1]]
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    vertices = np.concatenate([lined.vertices, places])
    faces, parent = split_at(lined.faces, middle[table.of_side], vertices)
    number_of = {(int(a), int(b)): int(v) for (a, b), v in zip(ends, new, strict=True)}
    return Lined(
        vertices=vertices,
        normals=np.concatenate([lined.normals, normals]),
        faces=faces,
        guessed=lined.guessed[parent],
        runs=tuple(_with_new(run, number_of) for run in lined.runs),
    ), number_of


def _with_new(run: IntArray, number_of: dict[tuple[int, int], int]) -> IntArray:
    """Return a run with the vertices put in where its edges were cut."""
    out = [int(run[0])]
    for a, b in itertools.pairwise(run.tolist()):
        new = number_of.get((min(a, b), max(a, b)))
        out += [b] if new is None else [new, b]
    return np.array(out, np.int64)


def _joined_by_edges(lined: Lined, stations: Sequence[int]) -> IntArray:
    """Return stations joined along edges: where two are not next to each other, the least walk."""
    table = edges_of(lined.faces)
    n = len(lined.vertices)
    key = table.ends[:, 0] * n + table.ends[:, 1]
    ends = lined.vertices[table.ends]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    run = [stations[0]]
    for a, b in itertools.pairwise(stations):
        wanted = min(a, b) * n + max(a, b)
        row = int(np.searchsorted(key, wanted))
        if row < len(key) and key[row] == wanted:
            run.append(b)
        else:
            run += _walk(table.ends, length, a, b)
    return np.array([run[i] for i in _without_loops([(v, -1) for v in run])], np.int64)


def _walk(ends: IntArray, cost: FloatArray, start: int, end: int) -> list[int]:
    """Return the vertices after the start on the cheapest way along (e, 2) edges; none, empty."""
    count = int(ends.max()) + 1
    graph = coo_array((cost, (ends[:, 0], ends[:, 1])), shape=(count, count)).tocsr()
    before = dijkstra(graph, directed=False, indices=[start], return_predecessors=True)[1][0]
    walk = [end]
    while walk[-1] != start:
        if before[walk[-1]] < 0:
            return []
        walk.append(int(before[walk[-1]]))
    return walk[-2::-1]


def kinds_and_runs(
    runs: Sequence[IntArray], taken: IntArray
) -> tuple[IntArray, list[IntArray], list[int]]:
    """Return which vertices stay (ends, crossings, what is taken), the runs between, whose each is.

    Parameters
    ----------
    taken : (j,) int
        Vertices that lie on rims.
    """
    visits: dict[int, int] = {}
    fixed: set[int] = set()
    for run in runs:
        closed = run[0] == run[-1]
        for vertex in (run[:-1] if closed else run).tolist():
            visits[vertex] = visits.get(vertex, 0) + 1
        if not closed:
            fixed |= {int(run[0]), int(run[-1])}
    rim = set(taken.tolist())
    fixed |= {vertex for vertex, count in visits.items() if count > 1 or vertex in rim}
    parts: list[IntArray] = []
    owner: list[int] = []
    for number, run in enumerate(runs):
        whole = _begun_at(run, fixed) if run[0] == run[-1] else run
        stays = {i for i, vertex in enumerate(whole.tolist()) if vertex in fixed}
        stops = sorted(stays | {0, len(whole) - 1})
        parts += [whole[a : b + 1] for a, b in itertools.pairwise(stops)]
        owner += [number] * (len(stops) - 1)
    return np.array(sorted(fixed), np.int64), parts, owner


def _begun_at(run: IntArray, fixed: set[int]) -> IntArray:
    """Return a closed run begun at one of its vertices that stay, if there is one."""
    lap = run[:-1]
    begin = next((i for i, vertex in enumerate(lap.tolist()) if vertex in fixed), 0)
    return np.append(np.roll(lap, -begin), lap[begin])


def lines_on(net: Net, crests: Sequence[FloatArray]) -> tuple[IntArray, ...]:
    """Return the vertices along every held line of a net, in the order of its polyline.

    Parameters
    ----------
    net : Net
        Edges of held line i have the number i + 1.
    crests : sequence of (k, 3) float, mm
        The polylines, the way each line runs.
    """
    found = []
    for number, crest in enumerate(crests):
        edges = net.line_edges[net.line_of_edge == number + 1]
        whole = chains(edges, np.zeros(len(net.vertices), bool))
        alone = len(whole) == 1 and _reaches(net.vertices[whole[0]], crest)
        run = whole[0] if alone else _along_others(net, edges, crest)
        found.append(_running_with(run, net.vertices, crest))
    return tuple(found)


def _reaches(run: FloatArray, crest: FloatArray) -> bool:
    """Return whether a run closes, or is hardly shorter from end to end than its crest."""
    short = np.linalg.norm(crest[0] - crest[-1]) - np.linalg.norm(run[0] - run[-1])
    edge = float(np.linalg.norm(np.diff(run, axis=0), axis=1).max())
    return bool((run[0] == run[-1]).all() or short < 2.0 * edge)


def _along_others(net: Net, own: IntArray, crest: FloatArray) -> IntArray:
    """Return the run of a line that lies in part along a rim or another line."""
    table = edges_of(net.faces)
    others = np.concatenate([table.ends[table.is_rim], net.line_edges])
    lone = np.isin(others @ [len(net.vertices), 1], own @ [len(net.vertices), 1], invert=True)
    ends = np.concatenate([own, np.unique(np.sort(others[lone], axis=1), axis=0)])
    cost = np.linalg.norm(net.vertices[ends[:, 1]] - net.vertices[ends[:, 0]], axis=1)
    cost[len(own) :] *= _BORROWED
    on_line = np.unique(ends)
    tree = cKDTree(net.vertices[on_line])
    start, end = on_line[np.asarray(tree.query(crest[[0, -1]])[1], np.int64)]
    walk = _walk(ends, cost, int(start), int(end)) if start != end else None
    return np.array([start, *walk], np.int64) if walk else own[0] if len(own) else own.ravel()


def _running_with(run: IntArray, vertices: FloatArray, crest: FloatArray) -> IntArray:
    """Return the run the way the crest runs, a closed one begun where it begins."""
    if len(run) < 2:
        return run
    if run[0] == run[-1]:
        lap = run[:-1]
        begin = int(np.argmin(np.linalg.norm(vertices[lap] - crest[0], axis=1)))
        lap = np.roll(lap, -begin)
        run = np.append(lap, lap[0])
        near = np.linalg.norm(crest - vertices[run[1]], axis=1)
        return run[::-1] if int(np.argmin(near)) > len(crest) / 2 else run
    from_start = np.linalg.norm(vertices[run[0]] - crest[0])
    return run[::-1] if from_start > np.linalg.norm(vertices[run[-1]] - crest[0]) else run

"""Closing holes with smooth patches that carry on the surface around them."""

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.sparse import coo_array, csr_array, diags_array
from scipy.sparse.linalg import splu

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import TriMesh, loop_length, rims, vertex_normals
from geometry.surface.net import FIXED, FREE, Net, area_vectors, edges_of
from geometry.surface.opening import Opening, opening_within
from geometry.surface.polygon import triangles_across
from geometry.surface.remesh import evened
from geometry.surface.rim_bend import bend_at_rim

_STEEPEST = np.cos(np.radians(60.0))
_STEEPEST_COTANGENT = 20.0
_ROUNDS = 5
_WIDE_RIM_MM = 90.0
"""From here on least bending alone leaves a crown of 100 mm sweep by a twentieth of a mm."""
_BENDING_ROUNDS = 30
_SETTLED = 1e-4
"""Of the hole's width: a patch that moves by less is there."""


def filled_openings(
    mesh: TriMesh, keep_rim: int | None = None
) -> tuple[TriMesh, BoolArray, tuple[Opening, ...]]:
    """Return the mesh with all its rims but one closed by smooth patches.

    Parameters
    ----------
    mesh : TriMesh
        Oriented and manifold.
    keep_rim : int, optional
        Which of `rims(mesh)` stays open; the longest if not given.

    Returns
    -------
    TriMesh
        The vertices and faces of the mesh keep their indices; those of the patches follow.
    (m,) bool
        Which faces are patches.
    tuple of Opening
        What was closed, in the order of `rims(mesh)`.
    """
    loops = rims(mesh)
    kept = 0 if keep_rim is None else keep_rim
    return rims_filled(mesh, [loop for i, loop in enumerate(loops) if i != kept])


def rims_filled(
    mesh: TriMesh, loops: Sequence[IntArray]
) -> tuple[TriMesh, BoolArray, tuple[Opening, ...]]:
    """Return the mesh with the given rims closed by smooth patches; see `filled_openings`.

    A patch bends as little as it can (least sum of squared mean curvature, across its rim too). On
    a plane it is flat. Where the skin turns down steeply into the hole, by more than 60 degrees on
    average (a filler neck), carrying it on means nothing: there the patch is the least skin across.
    So it is where the least bending cannot be worked out (a slit, a rim that lies on itself).
    """
    vertices, faces = [mesh.vertices], [mesh.faces]
    count = len(mesh.vertices)
    normals = vertex_normals(mesh.vertices, mesh.faces)
    for loop, around in zip(loops, _faces_around(mesh, loops), strict=True):
        points, triangles = _patch(mesh, normals, loop, around)
        index = np.concatenate([loop[::-1], count + np.arange(len(points))])
        vertices.append(points)
        faces.append(index[triangles])
        count += len(points)
    filled = np.zeros(sum(len(part) for part in faces), bool)
    filled[len(mesh.faces) :] = True
    closed = TriMesh(np.concatenate(vertices), np.concatenate(faces))
    return closed, locked(filled), tuple(opening_within(mesh.vertices[r[::-1]]) for r in loops)


def _faces_around(mesh: TriMesh, loops: Sequence[IntArray]) -> list[IntArray]:
    """Return the faces that touch each loop."""
    owner = np.full(len(mesh.vertices), -1, np.int64)
    for number, loop in enumerate(loops):
        owner[loop] = number
    face, corner = np.nonzero(owner[mesh.faces] >= 0)
    touched = owner[mesh.faces[face, corner]]
    pairs = np.unique(touched * len(mesh.faces) + face)
    ends = np.searchsorted(pairs, np.arange(len(loops) + 1) * len(mesh.faces))
    found = [pairs[a:b] % len(mesh.faces) for a, b in itertools.pairwise(ends)]
    return [mesh.faces[part] for part in found]


def _patch(
    mesh: TriMesh, normals: FloatArray, loop: IntArray, around: IntArray
) -> tuple[FloatArray, IntArray]:
    """Return a patch's new points and its triangles: the loop backward first, then the points."""
    rim = loop[::-1]
    net = _renewed(_flat_start(mesh.vertices[rim]))
    net = evened(net, _renewed, (), rounds=_ROUNDS, split_lines=False)
    net = _untied(net, rim, around)
    if _is_steep(net, normals[rim]):
        net = _renewed(replace(net, vertices=_balanced(net, net.vertices)))
        return net.vertices[len(rim) :], net.faces
    for _ in range(2):
        net = _renewed(replace(net, vertices=_bent_least(net, mesh, rim, around)))
    if loop_length(mesh.vertices, loop) > _WIDE_RIM_MM:
        net = _carried_on(net, mesh, normals, rim, around)
    return net.vertices[len(rim) :], net.faces


def _carried_on(
    net: Net, mesh: TriMesh, normals: FloatArray, rim: IntArray, around: IntArray
) -> Net:
    """Return a patch that bends on as the skin around it does.

    Over a wide hole the least bending lies under the crown: it would rather flatten in the middle.
    So a mean curvature is asked for at every vertex, that of the skin around led evenly across, and
    what differs from it is least. A ball's cap comes out as that cap.
    """
    across = loop_length(mesh.vertices, rim) / np.pi
    around_it = bend_at_rim(mesh, normals, rim, across)
    if around_it is None:
        return net
    bend = _led_across(net, around_it)
    for _ in range(_BENDING_ROUNDS):
        bent = _bent_least(net, mesh, rim, around, bend)
        moved = float(np.linalg.norm(bent - net.vertices, axis=1).max())
        net = _renewed(replace(net, vertices=bent))
        if moved < _SETTLED * across:
            break
    return net


def _led_across(net: Net, at_rim: FloatArray) -> FloatArray:
    """Return (n,) values that the first vertices have, led evenly across to all the others."""
    values = np.zeros(len(net.vertices))
    values[: len(at_rim)] = at_rim
    return _balanced(net, values)


def _flat_start(outline: FloatArray) -> Net:
    """Return the outline spanned without new points, sizes after its own edges."""
    k = len(outline)
    ahead = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
    size = np.maximum((ahead + np.roll(ahead, 1)) / 2.0, ahead.mean() / 2.0)
    here = np.arange(k)
    ends = np.sort(np.stack([here, (here + 1) % k], axis=1), axis=1)
    return Net(
        vertices=outline,
        faces=triangles_across(outline),
        normals=np.zeros((k, 3)),
        size=size,
        kind=np.full(k, FIXED, np.int64),
        line_edges=ends[np.lexsort((ends[:, 1], ends[:, 0]))],
        line_of_edge=np.zeros(k, np.int64),
        came_from=here,
        guessed=np.ones(k - 2, bool),
    )


def _renewed(net: Net) -> Net:
    """Return the net with its own vertex normals, faces weighted by area."""
    flat = area_vectors(net.vertices, net.faces)
    normals = np.zeros_like(net.vertices)
    for corner in range(3):
        np.add.at(normals, net.faces[:, corner], flat)
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    return replace(net, normals=normals)


def _untied(net: Net, rim: IntArray, around: IntArray) -> Net:
    """Return the net with inner edges that the mesh already has split in two.

    Two rim vertices may be joined by an edge of the mesh; joined again across the hole, four faces
    would meet there.
    """
    edges = edges_of(net.faces)
    k = len(rim)
    inner = np.flatnonzero(~edges.is_rim & (edges.ends < k).all(axis=1))
    if not len(inner):
        return net
    theirs = edges_of(around).ends
    ours = np.sort(rim[edges.ends[inner]], axis=1)
    span = int(around.max()) + 1
    tied = inner[np.isin(ours[:, 0] * span + ours[:, 1], theirs[:, 0] * span + theirs[:, 1])]
    for edge in tied:
        net = _split_one(net, edges.ends[edge])
    return _renewed(net)


def _split_one(net: Net, pair: IntArray) -> Net:
    new = len(net.vertices)
    hit = np.flatnonzero(np.isin(net.faces, pair).sum(axis=1) == 2)
    first, second = net.faces[hit].copy(), net.faces[hit].copy()
    first[first == pair[0]] = new
    second[second == pair[1]] = new
    faces = net.faces.copy()
    faces[hit] = first
    return replace(
        net,
        vertices=np.concatenate([net.vertices, net.vertices[pair].mean(axis=0)[None]]),
        faces=np.concatenate([faces, second]),
        normals=np.concatenate([net.normals, net.normals[pair[:1]]]),
        size=np.append(net.size, net.size[pair].mean()),
        kind=np.append(net.kind, FREE),
        came_from=np.append(net.came_from, -1),
        guessed=np.append(net.guessed, net.guessed[hit]),
    )


def _is_steep(net: Net, rim_normals: FloatArray) -> bool:
    """Return whether the skin at the rim stands steeply on the patch across it."""
    own = net.normals[: len(rim_normals)]
    return bool((own * rim_normals).sum(axis=1).mean() < _STEEPEST)


def cotangent_weights(vertices: FloatArray, faces: IntArray) -> csr_array:
    """Return the (n, n) matrix L of half cotangents: (L x)_i = sum of w_ij (x_j - x_i).

    Cotangents are kept within 20 (angles of 3 degrees), so that a needle cannot rule.
    """
    n = len(vertices)
    rows, cols, data = [], [], []
    for corner in range(3):
        i, j, k = (faces[:, (corner + step) % 3] for step in range(3))
        u, v = vertices[j] - vertices[i], vertices[k] - vertices[i]
        cross = np.linalg.norm(np.cross(u, v), axis=1)
        dot = (u * v).sum(axis=1)
        cot = np.divide(dot, cross, out=np.zeros_like(dot), where=cross > 0)
        weight = np.clip(cot, -_STEEPEST_COTANGENT, _STEEPEST_COTANGENT) / 2.0
        rows += [j, k]
        cols += [k, j]
        data += [weight, weight]
    off = coo_array(
        (np.concatenate(data), (np.concatenate(rows), np.concatenate(cols))), shape=(n, n)
    ).tocsr()
    return _with_balance(off)


def _with_balance(off: csr_array) -> csr_array:
    """Return weights with what makes every row sum to nothing on the diagonal."""
    return (off - diags_array(np.asarray(off.sum(axis=1)).ravel())).tocsr()


def _balanced(net: Net, values: FloatArray) -> FloatArray:
    """Return (n, ...) values, the free vertices' where the net's weights balance.

    Of the vertices themselves that is the least skin. Where cotangents leave it open, for want of
    area, every free vertex takes the mean of those it is joined to, which is always to be had.
    """
    free = net.kind == FREE
    if not free.any():
        return values
    for weights in (cotangent_weights(net.vertices, net.faces), _equal_weights(net)):
        inner = weights[free]
        found = _solved(-inner[:, free], inner[:, ~free] @ values[~free])
        if found is not None:
            out = values.copy()
            out[free] = found
            return out
    return values


def _equal_weights(net: Net) -> csr_array:
    """Return the (n, n) matrix like that of `cotangent_weights`, every edge weighing 1."""
    n = len(net.vertices)
    one, other = edges_of(net.faces).ends.T
    ends = np.concatenate([one, other]), np.concatenate([other, one])
    off = coo_array((np.ones(2 * len(one)), ends), shape=(n, n)).tocsr()
    return _with_balance(off)


def _solved(matrix: csr_array, wanted: FloatArray) -> FloatArray | None:
    """Return x with matrix @ x = wanted, or None where nothing tells which."""
    try:
        found = splu(matrix.tocsc()).solve(wanted)
    except RuntimeError:  # a factor is exactly singular: some of the patch has no area
        return None
    return np.asarray(found) if np.isfinite(found).all() else None


def _bent_least(
    net: Net, mesh: TriMesh, rim: IntArray, around: IntArray, bend: FloatArray | None = None
) -> FloatArray:
    """Return the net's vertices, the free ones where squared bending of patch and rim is least.

    With `bend`, (n,) twice the mean curvature wanted at each, what differs from it is least.

    Bending at a vertex is (L x) / sqrt(area) with L the cotangent weights of patch and skin
    together; it is summed over free vertices and the rim, whose rings reach into the skin. Where
    that has no answer, the least skin across is.
    """
    free = net.kind == FREE
    if not free.any():
        return net.vertices
    k, n = len(rim), len(net.vertices)
    beyond = np.setdiff1d(around, rim)
    index = np.zeros(len(mesh.vertices), np.int64)
    index[rim] = np.arange(k)
    index[beyond] = n + np.arange(len(beyond))
    vertices = np.concatenate([net.vertices, mesh.vertices[beyond]])
    faces = np.concatenate([net.faces, index[around]])
    matrix = cotangent_weights(vertices, faces)[:n]
    area = np.linalg.norm(area_vectors(vertices, faces), axis=1) / 6.0
    share = np.bincount(faces.ravel(), weights=np.repeat(area, 3), minlength=len(vertices))[:n]
    bending = (diags_array(1.0 / np.sqrt(np.maximum(share, 1e-12))) @ matrix).tocsc()
    known = np.ones(len(vertices), bool)
    known[:n] = ~free
    moving, held = bending[:, ~known], bending[:, known]
    wanted = held @ vertices[known]
    if bend is not None:
        wanted = wanted - (np.sqrt(np.maximum(share, 1e-12)) * bend)[:, None] * net.normals
    found = _solved(moving.T @ moving, -(moving.T @ wanted))
    if found is None:
        return _balanced(net, net.vertices)
    out = net.vertices.copy()
    out[free] = found
    return out

"""Where the least-work search begins: a layout in which no face is folded.

The conformal start is quick and close; the convex-rim start cannot fold and stands behind it.
"""

import numpy as np
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from geometry.arrays import FloatArray, IntArray
from geometry.blank.minimise import folded_faces
from geometry.blank.ordering import nested_dissection
from geometry.blank.stretch import rest_frames, shape_gradients
from geometry.mesh import TriMesh, edge_lengths, edge_table, face_areas, rims


def fold_free_start(mesh: TriMesh, rim: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return a layout without folded faces, at the panel's own area, and one for ordering.

    Parameters
    ----------
    mesh : TriMesh
        One disk.
    rim : (k,) int
        Its rim.

    Returns
    -------
    (n, 2) float, mm
        The start.
    (n, 2) float
        The convex-rim layout, whose edges never tangle: for ordering unknowns.
    """
    convex = convex_rim_layout(mesh, rim)
    conformal = at_panel_area(conformal_layout(mesh, rim, convex), mesh)
    if not folded_faces(conformal, mesh.faces).any():
        return conformal, convex
    return at_panel_area(convex, mesh), convex


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


def convex_rim_layout(mesh: TriMesh, rim: IntArray) -> FloatArray:
    """Return (n, 2): the rim on a circle by length, every inner vertex the mean of its neighbours.

    No face can fold. Source: [tutte1963]; [floater1997].
    """
    n = len(mesh.vertices)
    length = edge_lengths(mesh.vertices, np.stack([rim, np.roll(rim, -1)], axis=1))
    angle = 2.0 * np.pi * np.concatenate([[0.0], np.cumsum(length)[:-1]]) / length.sum()
    flat = np.zeros((n, 2))
    flat[rim] = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    inner = np.ones(n, bool)
    inner[rim] = False
    if not inner.any():
        return flat
    edges = edge_table(mesh.faces).edges
    both = np.concatenate([edges, edges[:, ::-1]])
    graph = coo_array((np.ones(len(both)), (both[:, 0], both[:, 1])), shape=(n, n)).tocsr()
    degree = np.asarray(graph.sum(axis=1)).ravel()
    at = np.flatnonzero(inner)
    matrix = csc_array(-graph[at][:, at])
    matrix.setdiag(degree[at])
    flat[at] = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    ).solve(np.asarray(graph[at][:, rim] @ flat[rim]))
    return flat


def conformal_layout(mesh: TriMesh, rim: IntArray, layout: FloatArray) -> FloatArray:
    """Return (n, 2): the layout that keeps angles best, two far rim vertices held.

    Parameters
    ----------
    mesh : TriMesh
    rim : (k,) int
    layout : (n, 2) float
        Any layout without folds, for ordering the unknowns.

    Source: [levy2002] least-squares conformal maps. It may fold on rough panels.
    """
    n = len(mesh.vertices)
    frames = rest_frames(mesh.vertices, mesh.faces)
    g = shape_gradients(frames)  # (m, 3, 2)
    weight = np.sqrt(frames[:, 0, 0] * frames[:, 1, 1] / 2.0)[:, None]
    gx, gy = g[:, :, 0] * weight, g[:, :, 1] * weight
    order = nested_dissection(layout, edge_table(mesh.faces).edges)
    place = np.empty(n, np.int64)
    place[order] = np.arange(n)
    at = place[mesh.faces]
    m = len(mesh.faces)
    row = np.repeat(np.arange(m), 3)
    # Cauchy-Riemann: u_x = v_y and u_y = -v_x on every face.
    rows = np.concatenate([row, row, row + m, row + m])
    columns = np.concatenate([2 * at.ravel(), 2 * at.ravel() + 1] * 2)
    values = np.concatenate([gx.ravel(), -gy.ravel(), gy.ravel(), gx.ravel()])
    operator = coo_array((values, (rows, columns)), shape=(2 * m, 2 * n)).tocsc()
    far = rim[int(np.argmax(np.linalg.norm(mesh.vertices[rim] - mesh.vertices[rim[0]], axis=1)))]
    held = np.concatenate([2 * place[[rim[0], far]], 2 * place[[rim[0], far]] + 1])
    free = np.setdiff1d(np.arange(2 * n), held)
    solution = np.zeros(2 * n)
    solution[2 * place[far]] = np.linalg.norm(mesh.vertices[far] - mesh.vertices[rim[0]])
    normal = csc_array(operator.T @ operator)
    right = -np.asarray(normal[free][:, held] @ solution[held]).ravel()
    solution[free] = splu(
        csc_array(normal[free][:, free]),
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    ).solve(right)
    return solution.reshape(n, 2)[place]

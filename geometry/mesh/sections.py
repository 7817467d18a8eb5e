"""Where a plane cuts a surface: the outlines."""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh.topology import edge_table
from geometry.mesh.tri_mesh import TriMesh
from geometry.polyline import line_length


def section(mesh: TriMesh, origin: FloatArray, normal: FloatArray) -> tuple[FloatArray, ...]:
    """Return the lines in which a plane cuts the mesh, the longest first.

    Parameters
    ----------
    mesh : TriMesh
        Manifold, its faces all facing out.
    origin : (3,) float, mm
        A point of the plane.
    normal : (3,) float
        Square to the plane; any length but zero.

    Returns
    -------
    tuple of (k, 3) float, mm
        Each line in order, counter-clockwise about the metal when the normal points at the
        viewer. A line that closes repeats its first point. A vertex on the plane counts as above.
    """
    height = (mesh.vertices - np.asarray(origin)) @ (np.asarray(normal) / np.linalg.norm(normal))
    above = height >= 0
    table = edge_table(mesh.faces)
    rising = ~above[mesh.faces] & above[np.roll(mesh.faces, -1, axis=1)]
    falling = above[mesh.faces] & ~above[np.roll(mesh.faces, -1, axis=1)]
    cut = rising.any(axis=1)
    enters = table.edge_of_side[cut][falling[cut]]  # one of each in a face that is cut
    leaves = table.edge_of_side[cut][rising[cut]]
    chains = _chains(dict(zip(enters.tolist(), leaves.tolist(), strict=True)))
    lines = [_crossings(mesh.vertices, height, table.edges[chain]) for chain in chains]
    lines = [line for line in lines if len(line) > 1]
    return tuple(sorted(lines, key=lambda line: -line_length(line)))


def _chains(following: dict[int, int]) -> list[list[int]]:
    """Follow the links: open chains first, then closed ones with the first item repeated."""
    beginnings = sorted(set(following) - set(following.values()))
    chains = []
    for first in beginnings:
        chain = [first]
        while chain[-1] in following:
            chain.append(following.pop(chain[-1]))
        chains.append(chain)
    while following:
        chain = [min(following)]
        while chain[-1] in following:
            chain.append(following.pop(chain[-1]))
        chains.append(chain)
    return chains


def _crossings(vertices: FloatArray, height: FloatArray, edges: IntArray) -> FloatArray:
    """Return the points at height 0 on edges, without repeats where the line meets a vertex."""
    low, high = height[edges[:, 0]], height[edges[:, 1]]
    along = (low / (low - high))[:, None]
    points = (1 - along) * vertices[edges[:, 0]] + along * vertices[edges[:, 1]]
    on_vertex = np.where(low == 0, edges[:, 0], np.where(high == 0, edges[:, 1], -1))
    repeats = (on_vertex[1:] >= 0) & (on_vertex[1:] == on_vertex[:-1])
    return np.concatenate([points[:1], points[1:][~repeats]])

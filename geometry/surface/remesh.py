"""Even triangles over a given surface: `remeshed`, and the loop of steps behind it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.mesh import TriMesh, vertex_normals
from geometry.progress import Report, silent
from geometry.surface.collapse import with_short_edges_collapsed
from geometry.surface.flip import with_edges_flipped
from geometry.surface.follow import Follower
from geometry.surface.lines import chains, line_table, sharp_turns
from geometry.surface.net import FIXED, FREE, ON_LINE, Net, compacted, edges_of, with_lines
from geometry.surface.relax import relaxed
from geometry.surface.split import with_long_edges_split

Follow = Callable[[Net], Net]
"""Puts a net's free vertices back on its surface and renews normals and sizes there."""


def evened(
    net: Net,
    follow: Follow,
    lines: Sequence[FloatArray],
    *,
    rounds: int = 4,
    polish: int = 2,
    split_lines: bool = True,
    report: Report = silent,
) -> Net:
    """Return the net with triangles of the size wanted, evened out.

    Parameters
    ----------
    net : Net
    follow : callable
        Puts vertices back on the surface after they have moved.
    lines : sequence of (k, 3) float, mm
        The polylines that vertices on lines keep to.
    rounds, polish : int
        How often edges are split, collapsed, flipped and slid; how often flipped and slid after.
    """
    total = rounds + polish
    for turn in range(total):
        report(turn / total, "even the triangles")
        if turn < rounds:
            net = with_long_edges_split(net, split_lines=split_lines)
            net = with_short_edges_collapsed(net)
        net = relaxed(with_edges_flipped(net, max_rounds=3), lines)
        if turn % 2 or turn == total - 1:  # sliding hardly leaves the surface: not every time
            net = follow(net)
    report(1.0, "even the triangles")
    return with_edges_flipped(net)


@dataclass(frozen=True, eq=False)
class Remeshed:
    """A mesh with even triangles.

    Attributes
    ----------
    mesh : TriMesh
    source_vertex : (n,) int
        The vertex of the mesh given that each vertex was to begin with; -1 for a new one. Vertices
        at corners of rims and at ends of fixed edges are still in their place.
    fixed_edges : (k, 2) int
        The edges that now lie on the fixed edges.
    """

    mesh: TriMesh
    source_vertex: IntArray
    fixed_edges: IntArray


def remeshed(
    mesh: TriMesh,
    *,
    spacing_mm: float,
    fixed_edges: IntArray | None = None,
    report: Report = silent,
) -> Remeshed:
    """Return the surface with even triangles; rims and fixed edges keep their course.

    Parameters
    ----------
    mesh : TriMesh
        Oriented and manifold.
    spacing_mm : float
        Edge length wanted.
    fixed_edges : (k, 2) int, optional
        Edges of the mesh that triangles must not straddle.
    """
    kept = np.empty((0, 2), np.int64) if fixed_edges is None else np.sort(fixed_edges, axis=1)
    size = np.full(len(mesh.vertices), spacing_mm)
    net, lines, rim_lines = net_of(mesh, size, kept)
    follow = Follower(mesh, vertex_normals(mesh.vertices, mesh.faces), size)
    net = evened(net, follow, lines, report=report)
    on_fixed = net.line_of_edge >= rim_lines
    return Remeshed(
        mesh=TriMesh(net.vertices, net.faces),
        source_vertex=locked(net.came_from),
        fixed_edges=locked(net.line_edges[on_fixed]),
    )


def net_of(
    mesh: TriMesh, size: FloatArray, fixed_edges: IntArray
) -> tuple[Net, tuple[FloatArray, ...], int]:
    """Return a mesh as a net, the polylines of its rims and fixed edges, and how many are rims."""
    table = edges_of(mesh.faces)
    rim = table.ends[table.is_rim]
    edges = np.concatenate([rim, fixed_edges])
    corner = sharp_turns(mesh.vertices, edges)
    corner |= np.bincount(rim.ravel(), minlength=len(corner)).astype(bool) & np.bincount(
        fixed_edges.ravel(), minlength=len(corner)
    ).astype(bool)
    rim_runs, fixed_runs = chains(rim, corner), chains(fixed_edges, corner)
    runs = [*rim_runs, *fixed_runs]
    kind = np.full(len(mesh.vertices), FREE, np.int64)
    kind[edges] = ON_LINE
    kind[corner] = FIXED
    net = Net(
        vertices=mesh.vertices,
        faces=mesh.faces,
        normals=vertex_normals(mesh.vertices, mesh.faces),
        size=size,
        kind=kind,
        line_edges=np.empty((0, 2), np.int64),
        line_of_edge=np.empty(0, np.int64),
        came_from=np.arange(len(mesh.vertices)),
        guessed=np.zeros(len(mesh.faces), bool),
    )
    net = compacted(with_lines(net, *line_table(runs)))
    return net, tuple(mesh.vertices[run] for run in runs), len(rim_runs)

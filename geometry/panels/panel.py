"""Panels: the pieces a cut surface falls into, named, with maps back and seam halves."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, TriMesh, edge_table, part_of_mesh
from geometry.panels.cut import CutSurface
from geometry.panels.line_runs import lines_by_panel
from geometry.panels.on_surface import OFF_SURFACE_MM
from geometry.panels.seam import PanelPointError, SeamPath
from geometry.surface import Opening


@dataclass(frozen=True, eq=False)
class SeamHalf:
    """One panel's side of a seam, or of the part of it that borders one other panel.

    Attributes
    ----------
    seam : str
    vertices : (k,) int
        Of this panel, in the order its rim runs (the panel on the left).
    other : str
        The panel across.
    """

    seam: str
    vertices: IntArray
    other: str


@dataclass(frozen=True, eq=False)
class Panel:
    """A piece of the skin.

    Attributes
    ----------
    name : str
    mesh : TriMesh
        Middle of the metal.
    outside : (n, 3) float, mm
    vertex_of_panel_vertex, face_of_panel_face : (n,), (m,) int
        Into the cut surface.
    scan_face_of_panel_face : (m,) int
    filled : (m,) bool
        Not scanned: a guess.
    copied : (m,) bool
        Made from the tank's other side.
    openings : tuple of Opening
        Those that lie on this panel.
    seam_halves : tuple of SeamHalf
    lines : tuple of (k, 3) float, mm
        What of the locked lines lies on this panel, middle of the metal; not what runs along its
        rim.
    """

    name: str
    mesh: TriMesh
    outside: FloatArray
    vertex_of_panel_vertex: IntArray
    face_of_panel_face: IntArray
    scan_face_of_panel_face: IntArray
    filled: BoolArray
    copied: BoolArray
    openings: tuple[Opening, ...]
    seam_halves: tuple[SeamHalf, ...]
    lines: tuple[FloatArray, ...] = ()


def panels(cut: CutSurface, named: Sequence[tuple[str, FloatArray]]) -> tuple[Panel, ...]:
    """Return the panels of a cut surface, named ones first in the order given.

    Parameters
    ----------
    cut : CutSurface
    named : sequence of (name, (3,) float)
        A point inside each panel that has a name; the others are numbered, largest first.

    Raises
    ------
    PanelPointError
        A point off the surface, two points in one panel, or one name twice.
    """
    names = _names(cut, named)
    order = [label for _, label in sorted((name[1], label) for label, name in names.items())]
    text = {label: name[0] for label, name in names.items()}
    opening_label = _labels_of_openings(cut)
    borders = _borders(cut)
    lines = lines_by_panel(cut)
    return tuple(
        replace(_panel(cut, label, text, opening_label, borders), lines=tuple(lines.get(label, ())))
        for label in order
    )


def _names(cut: CutSurface, named: Sequence[tuple[str, FloatArray]]) -> dict[int, tuple[str, int]]:
    """Return name and rank of every panel label."""
    names: dict[int, tuple[str, int]] = {}
    if named:
        points = np.stack([point for _, point in named])
        found = NearestPoint(TriMesh(cut.outside, cut.mesh.faces)).find(points)
        for k, (name, point) in enumerate(named):
            label = int(cut.panel_of_face[found.faces[k]])
            taken = [other for other, _ in names.values() if other == name]
            if label in names:
                raise PanelPointError((names[label][0], name), point, 0.0)
            if taken:
                raise PanelPointError((name, name), point, 0.0)
            if found.distances[k] > 10.0 * OFF_SURFACE_MM:
                raise PanelPointError((name,), point, float(found.distances[k]))
            names[label] = (name, k)
    used = {name for name, _ in names.values()}
    number = 1
    for label in range(int(cut.panel_of_face.max()) + 1):
        if label not in names:
            while f"panel {number}" in used:
                number += 1
            names[label] = (f"panel {number}", len(named) + label)
            number += 1
    return names


def _labels_of_openings(cut: CutSurface) -> IntArray:
    """Return the panel on which each opening's middle lies."""
    if not cut.openings:
        return np.empty(0, np.int64)
    centres = np.stack([opening.outline.mean(axis=0) for opening in cut.openings])
    return cut.panel_of_face[NearestPoint(cut.mesh).find(centres).faces]


def _panel(
    cut: CutSurface,
    label: int,
    names: dict[int, str],
    opening_label: IntArray,
    borders: "_Borders",
) -> Panel:
    faces = np.flatnonzero(cut.panel_of_face == label)
    mesh, used = part_of_mesh(cut.mesh, faces)
    mesh, used = _opened(mesh, used)
    return Panel(
        name=names[label],
        mesh=mesh,
        outside=locked(cut.outside[used]),
        vertex_of_panel_vertex=locked(used),
        face_of_panel_face=locked(faces),
        scan_face_of_panel_face=locked(cut.scan_face_of_face[faces]),
        filled=locked(cut.filled[faces]),
        copied=locked(cut.copied[faces]),
        openings=tuple(cut.openings[k] for k in np.flatnonzero(opening_label == label)),
        seam_halves=_halves(cut.seam_paths, borders.of(label), mesh, used, names),
    )


def _opened(mesh: TriMesh, used: IntArray) -> tuple[TriMesh, IntArray]:
    """Return the panel with vertices doubled where its own parts only touch.

    Where a seam runs into the panel on both sides, or two corners of it meet at a point, the rim
    could not be walked: each fan of faces gets a vertex of its own.
    """
    table = edge_table(mesh.faces)
    shared = np.flatnonzero(table.face_count == 2)
    sides = np.argsort(table.edge_of_side.ravel(), kind="stable")
    first = np.cumsum(table.face_count)[shared] - 2
    s1, s2 = sides[first], sides[first + 1]
    after1, after2 = s1 - s1 % 3 + (s1 + 1) % 3, s2 - s2 % 3 + (s2 + 1) % 3
    rows, columns = np.concatenate([s1, after1]), np.concatenate([after2, s2])
    graph = coo_array((np.ones(len(rows)), (rows, columns)), shape=(mesh.faces.size,) * 2)
    _, fan = connected_components(graph, directed=False)
    pairs, vertex = np.unique(
        np.stack([mesh.faces.ravel(), fan], axis=1), axis=0, return_inverse=True
    )
    if len(pairs) == len(mesh.vertices):
        return mesh, used
    old = pairs[:, 0]
    return TriMesh(mesh.vertices[old], vertex.reshape(-1, 3)), used[old]


def _halves(
    paths: Sequence[SeamPath],
    across: dict[tuple[int, int], int],
    mesh: TriMesh,
    used: IntArray,
    names: dict[int, str],
) -> tuple[SeamHalf, ...]:
    """Return this panel's side of every seam, parted where the panel across changes."""
    start, end = _rim_sides(mesh)
    whole = {
        (int(used[a]), int(used[b])): (int(a), int(b)) for a, b in zip(start, end, strict=True)
    }
    halves: list[SeamHalf] = []
    for path in paths:
        for run in _runs(path, whole, across):
            vertices = [whole[run[0]][0], *(whole[pair][1] for pair in run)]
            other = names[across[run[0]]]
            halves.append(SeamHalf(path.name, locked(np.array(vertices, np.int64)), other))
    return tuple(halves)


def _rim_sides(mesh: TriMesh) -> tuple[IntArray, IntArray]:
    """Return start and end of every rim edge, as the rim runs."""
    sides = np.stack([mesh.faces, np.roll(mesh.faces, -1, axis=1)], axis=2).reshape(-1, 2)
    keys = sides @ np.array([len(mesh.vertices), 1])
    rim = ~np.isin(keys, sides[:, ::-1] @ np.array([len(mesh.vertices), 1]))
    return sides[rim, 0], sides[rim, 1]


@dataclass(frozen=True, eq=False)
class _Borders:
    """Every directed edge that has another panel across: whose it is, and whose across."""

    sides: IntArray  # (k, 2)
    own: IntArray
    across: IntArray

    def of(self, label: int) -> dict[tuple[int, int], int]:
        """Return the label across each border edge of a panel, as the panel's faces run."""
        mine = self.own == label
        return {
            (a, b): other
            for (a, b), other in zip(
                self.sides[mine].tolist(), self.across[mine].tolist(), strict=True
            )
        }


def _borders(cut: CutSurface) -> _Borders:
    table = edge_table(cut.mesh.faces)
    two = table.face_count == 2
    labels = np.where(two[:, None], cut.panel_of_face[table.faces_of_edge], 0)
    border = two & (labels[:, 0] != labels[:, 1])
    face, side = np.nonzero(border[table.edge_of_side])
    sides = np.stack([cut.mesh.faces[face, side], cut.mesh.faces[face, (side + 1) % 3]], axis=1)
    own = cut.panel_of_face[face]
    return _Borders(sides, own, labels[table.edge_of_side[face, side]].sum(axis=1) - own)


def _runs(
    path: SeamPath,
    whole: dict[tuple[int, int], tuple[int, int]],
    across: dict[tuple[int, int], int],
) -> list[list[tuple[int, int]]]:
    """Return runs of directed rim edges of one seam with one panel across, in rim order."""
    runs: list[list[tuple[int, int]]] = []
    edges = [(int(a), int(b)) for a, b in path.edges]
    for directed in (edges, [(b, a) for a, b in reversed(edges)]):
        first = len(runs)
        for pair in directed:
            if pair not in whole or pair not in across:
                continue
            joined = len(runs) > first and runs[-1][-1][1] == pair[0]
            if joined and across[runs[-1][-1]] == across[pair]:
                runs[-1].append(pair)
            else:
                runs.append([pair])
        if not (path.closed and len(runs) > first + 1):
            continue
        last, begin = runs[-1][-1], runs[first][0]
        if last[1] == begin[0] and across[last] == across[begin]:
            runs[first] = runs.pop() + runs[first]
    return runs

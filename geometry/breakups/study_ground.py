"""The ground of a study: the tank coarsened, in its own axes, halved at its centre plane."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.blank import is_opening
from geometry.breakups.fields import dense_along, parting_fields
from geometry.breakups.piece import MIRROR, Line, Piece, halved
from geometry.breakups.seam_figures import Sight, sight_of
from geometry.errors import GeometryError
from geometry.gauges import TankAxes
from geometry.mesh import (
    NearestPoint,
    TriMesh,
    face_areas,
    piece_of_face,
    rims,
    typical_edge_length,
    vertex_normals,
)
from geometry.panels import Surface
from geometry.progress import Report, part_of, silent
from geometry.surface import crown_of, filled_openings, remeshed

FACES = 6500
"""About how many triangles the whole tank is studied on: edges of 12 mm on the sample."""

FEWEST_FACES = 60

SAME_LINE_MM = 5.0
"""Nearer than this to another's mirror image, a character line is its twin on the other hand."""

OVER_PLANE_MM = 10.0

NEAR_CRISP_MM = 6.0
"""A weld nearer to a crisp line than this softens it; 6 to 12 mm is common practice, no source."""

FINE_ENOUGH = 0.8
"""Of the edges wanted: a surface with longer ones is studied as it is."""


class StudySurfaceError(GeometryError):
    """A surface that no break-up can be sought on.

    Attributes
    ----------
    reason : str
        "pieces", "faces" or "plane": several pieces, too few triangles, or a centre plane that
        does not part it in two.
    count : int
        Of pieces or triangles; 0 for the plane.
    """

    def __init__(self, reason: str, count: int = 0) -> None:
        self.reason, self.count = reason, count
        super().__init__(f"no study on this surface: {reason} {count}")


@dataclass(frozen=True, eq=False)
class StudyGround:
    """The half tank, or the whole where nothing is known of a centre plane.

    Attributes
    ----------
    root : Piece
        In the tank's axes.
    field_names : tuple of str
    own_levels : tuple of (j,) float
        For each field, where it is to be parted first of all.
    has_plane : bool
    sight : Sight, optional
        Where on the tank nobody looks, in the tank's own axes; None where nobody said where its
        front and top are.
    seen_weight : float
        How many hidden millimetres of weld one that is seen counts.
    area : float, mm2
        Of the root.
    edge_mm : float
        Typical length of its edges.
    crisp : (k, 3) float, mm
        Points along the character lines, 1 mm apart.
    crisp_tree : cKDTree
        Of them.
    """

    root: Piece
    field_names: tuple[str, ...]
    own_levels: tuple[FloatArray, ...]
    has_plane: bool
    sight: Sight | None
    seen_weight: float
    area: float
    edge_mm: float
    crisp: FloatArray
    crisp_tree: cKDTree = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "crisp_tree", cKDTree(self.crisp))

    @property
    def sides(self) -> int:
        """Return how many times what is on the root is on the whole tank."""
        return 2 if self.has_plane else 1

    @property
    def wide_mm(self) -> float:
        """Return how far out the half reaches; 0 without a plane."""
        return float(self.root.outside[:, 1].max()) if self.has_plane else 0.0

    def near_crisp(self, line: Line) -> float:
        """Return how much of a line lies nearer to a character line than a seam may, mm."""
        if not len(self.crisp):
            return 0.0
        steps = np.linalg.norm(np.diff(line.points, axis=0), axis=1)
        middles = (line.points[1:] + line.points[:-1]) / 2.0
        off, _ = self.crisp_tree.query(middles, distance_upper_bound=NEAR_CRISP_MM)
        return float(steps[np.isfinite(off)].sum())

    def lengths(self, line: Line) -> tuple[float, float]:
        """Return how long a line is, mm, and what of it is hidden."""
        steps = np.linalg.norm(np.diff(line.points, axis=0), axis=1)
        if self.sight is None:
            return float(steps.sum()), 0.0
        facing = line.normals[1:] + line.normals[:-1]
        facing = facing / np.maximum(np.linalg.norm(facing, axis=1, keepdims=True), 1e-300)
        hidden = self.sight.is_hidden((line.points[1:] + line.points[:-1]) / 2.0, facing)
        return float(steps.sum()), float(steps[hidden].sum())


def study_ground(
    surface: Surface,
    axes: TankAxes,
    *,
    plane: bool,
    lines: Sequence[FloatArray] | None = None,
    stand_off_mm: float = 9.0,
    seen_weight: float = 2.0,
    faces: int = FACES,
    report: Report = silent,
) -> StudyGround:
    """Return the ground of a study; see `proposals` for the parameters.

    Raises
    ------
    StudySurfaceError
    """
    _check(surface.mesh)
    report(0.0, "coarsen the surface")
    coarse, outside = _coarsened(surface, faces, part_of(report, 0.0, 0.6))
    tank_outside = axes.to_tank(outside)
    whole = _whole(axes.to_tank(coarse.vertices), tank_outside, coarse.faces, report)
    bare_root = halved(whole) if plane else whole
    if bare_root is None:
        raise StudySurfaceError("plane")
    if lines is None:
        lines = [surface.mesh.vertices[line] for line in surface.lines]
    own_lines = [axes.to_tank(line) for line in lines]
    if plane:
        own_lines = _of_one_hand(own_lines)
    fields = parting_fields(
        bare_root.mesh,
        bare_root.fields[:, 0],
        own_lines,
        stand_off_mm=stand_off_mm,
        one_hand=plane,
    )
    root = replace(bare_root, fields=np.stack([each.values for each in fields], axis=1))
    own = TankAxes(np.zeros(3), np.eye(3), axes.named)
    report(1.0, "measure the crown")
    return StudyGround(
        root=root,
        field_names=tuple(each.name for each in fields),
        own_levels=tuple(each.levels for each in fields),
        has_plane=plane,
        sight=sight_of(tank_outside, own) if axes.named else None,
        seen_weight=seen_weight,
        area=root.area,
        edge_mm=float(typical_edge_length(coarse)),
        crisp=np.concatenate([np.empty((0, 3)), *(dense_along(line) for line in own_lines)]),
    )


def _whole(tank: FloatArray, outside: FloatArray, faces: IntArray, report: Report) -> Piece:
    """Return the whole skin as one piece, its one field how much shape there is."""
    report(0.6, "measure the crown")
    crown = crown_of(TriMesh(tank, faces), report=part_of(report, 0.6, 0.9))
    return Piece(
        tank,
        outside,
        vertex_normals(outside, faces),
        faces.copy(),
        np.abs(crown.curvatures.prod(axis=1))[:, None],
        np.zeros(len(tank), bool),
    )


def _of_one_hand(lines: Sequence[FloatArray]) -> list[FloatArray]:
    """Return what of the lines lies on the left, and what lies on the right mirrored there.

    Those alike are told once; all reach a little over the plane.
    """
    kept: list[FloatArray] = []
    both = [hand for line in lines for hand in (line, line * MIRROR)]
    for line in [run for hand in both for run in _runs(hand)]:
        again = any(
            np.median(cKDTree(other).query(line)[0]) < SAME_LINE_MM
            and np.median(cKDTree(line).query(other)[0]) < SAME_LINE_MM
            for other in kept
        )
        if not again:
            kept.append(line)
    return kept


def _runs(line: FloatArray) -> list[FloatArray]:
    """Return the runs of a line that lie on the left or no more than a little over the plane."""
    here = line[:, 1] > -OVER_PLANE_MM
    turns = np.flatnonzero(np.diff(here.astype(np.int64))) + 1
    runs = np.split(np.arange(len(line)), turns)
    return [line[run] for run in runs if here[run[0]] and line[run, 1].max() > OVER_PLANE_MM]


def _check(mesh: TriMesh) -> None:
    if len(mesh.faces) < FEWEST_FACES:
        raise StudySurfaceError("faces", len(mesh.faces))
    pieces = int(piece_of_face(mesh.faces).max()) + 1
    if pieces > 1:
        raise StudySurfaceError("pieces", pieces)


def _coarsened(surface: Surface, faces: int, report: Report) -> tuple[TriMesh, FloatArray]:
    """Return the surface in about so many triangles, holes closed, and its vertices outside."""
    mesh, outside = surface.mesh, surface.outside
    holes = rims(mesh)[1:]
    if holes and all(is_opening(mesh, rim) for rim in holes):
        mesh, _, _ = filled_openings(mesh, None)
        outside = np.concatenate([outside, mesh.vertices[len(outside) :]])
    area = float(face_areas(mesh.vertices, mesh.faces).sum())
    spacing = float(np.sqrt(4.0 / np.sqrt(3.0) * area / faces))
    if typical_edge_length(mesh) > FINE_ENOUGH * spacing:
        return mesh, outside
    fixed = [np.stack([line[:-1], line[1:]], axis=1) for line in surface.lines]
    held: IntArray | None = np.concatenate(fixed) if fixed else None
    coarse = remeshed(mesh, spacing_mm=spacing, fixed_edges=held, report=report).mesh
    found = NearestPoint(mesh).find(coarse.vertices)
    corners = outside[mesh.faces[found.faces]]
    return coarse, np.asarray((found.barycentric[:, :, None] * corners).sum(axis=1))

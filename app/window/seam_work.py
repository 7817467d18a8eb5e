"""What takes a while on one seam, worked in the worker: faired, slid, stood off a line. No Qt."""

from dataclasses import dataclass

import numpy as np

from app.job import SeamLine
from app.window.hands import nearest_on_line
from app.window.seam_ground import ground_of
from app.window.seam_hand import all_on
from geometry.arrays import FloatArray
from geometry.datum import point3
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.seams import (
    SeamGround,
    faired,
    few_points,
    piece_between,
    slid_to_least_shape,
    stood_off,
)
from geometry.surface import crown_of

ALONGSIDE_MM = 30.0
"""A seam whose points lie no farther from a line runs along it."""

OFF_MM = 0.3
"""How far the line through few points may lie from the one that was worked out."""

_SHAPES: list[tuple[SeamGround, FloatArray]] = []


@dataclass(frozen=True)
class SeamAmounts:
    """How far the commands on a seam may go.

    Attributes
    ----------
    fair_mm, slide_mm : float
        No place of the seam moves farther.
    off_mm : float
        From a crisp line: 6 to 12.
    """

    fair_mm: float = 2.0
    slide_mm: float = 15.0
    off_mm: float = 8.0


@dataclass(frozen=True)
class Reworked:
    """A seam that was worked on, and what is said of it."""

    seam: SeamLine
    words: str


def faired_seam(
    skin: TriMesh, mm_per_unit: float, seam: SeamLine, within_mm: float,
    *, report: Report = silent,
) -> Reworked:  # fmt: skip
    """Return a seam that turns as evenly in the sheet as it can, hardly moved."""
    ground = ground_of(skin, report=part_of(report, 0.0, 0.3))
    found = faired(
        ground, np.array(seam.points) * mm_per_unit, within_mm=within_mm, closed=seam.closed,
        report=part_of(report, 0.3, 0.6),
    )  # fmt: skip
    if found.moved_mm.max() < 0.01:
        return Reworked(seam, f"{seam.name} is as fair as it can be within {within_mm:g} mm.")
    words = f"{seam.name} is fair now: it moved {found.moved_mm.max():.1f} mm at most."
    points = _few(ground, found.points, seam, part_of(report, 0.6, 1.0))
    return Reworked(_through(seam, points / mm_per_unit), words)


def slid_seam(
    skin: TriMesh, mm_per_unit: float, seam: SeamLine, within_mm: float,
    rails: tuple[FloatArray | None, FloatArray | None], *, report: Report = silent,
) -> Reworked:  # fmt: skip
    """Return a seam slid to where the skin has least shape; ends slide along their rails, mm."""
    ground = ground_of(skin, report=part_of(report, 0.0, 0.2))
    shape = _shape_of(skin, ground, part_of(report, 0.2, 0.5))
    found = slid_to_least_shape(
        ground, np.array(seam.points) * mm_per_unit, shape, within_mm=within_mm,
        closed=seam.closed, along=rails, report=part_of(report, 0.5, 0.7),
    )  # fmt: skip
    most = float(np.abs(found.moved_mm).max())
    if most < 0.1:
        return Reworked(seam, f"{seam.name} lies where there is least shape already.")
    words = f"{seam.name} slid {most:.1f} mm at most, to where the skin has less shape."
    points = _few(ground, found.points, seam, part_of(report, 0.7, 1.0))
    return Reworked(_through(seam, points / mm_per_unit), words)


def _shape_of(skin: TriMesh, ground: SeamGround, report: Report) -> FloatArray:
    """Return how much shape there is at every vertex: both curvatures multiplied, without sign."""
    for known, shape in _SHAPES:
        if known is ground:
            return shape
    crown = crown_of(skin, report=report)
    shape = np.abs(crown.curvatures.prod(axis=1))
    told = np.isfinite(shape)
    shape = np.where(told, shape, shape[told].max() if told.any() else 0.0)
    _SHAPES[:] = [(ground, shape)]
    return shape


def stood_off_seam(
    skin: TriMesh, mm_per_unit: float, seam: SeamLine, line: FloatArray,
    off: tuple[float, bool], *, report: Report = silent,
) -> Reworked:  # fmt: skip
    """Return a seam everywhere as far from a crisp line, where it runs along it.

    `off` says how far, mm, and whether on the other side than it lies on now. What reaches beyond
    the line stays.
    """
    off_mm, other_side = off
    ground = ground_of(skin, report=part_of(report, 0.0, 0.5))
    points, line = np.array(seam.points) * mm_per_unit, line * mm_per_unit
    alongside = _is_alongside(points, line)
    left = _lies_left(ground, points[alongside], line)
    side = "left" if left != other_side else "right"
    beside = stood_off(ground, line, off_mm, "left" if side == "left" else "right")
    at = np.flatnonzero(alongside)
    piece = _piece_along(beside, points[at], (line[0] == line[-1]).all(), whole=seam.closed)
    before, after = points[: at[0]], points[at[-1] + 1 :]
    if not len(before) and _is_held(all_on(seam)[0]) and not seam.closed:
        before = points[:1]
    if not len(after) and _is_held(all_on(seam)[-1]) and not seam.closed:
        after = points[-1:]
    whole = _without_near(before, piece, after, off_mm)
    whole = _few(ground, whole, seam, part_of(report, 0.5, 1.0))
    words = f"{seam.name} stands {off_mm:g} mm off the line, on its {side} side."
    held = SeamLine(
        seam.name, seam.points, seam.closed,
        tuple(each if _is_held(each) else "" for each in all_on(seam)), seam.mirror_of,
    )  # fmt: skip
    return Reworked(_through(held, whole / mm_per_unit), words)


def _few(ground: SeamGround, points: FloatArray, seam: SeamLine, report: Report) -> FloatArray:
    """Return few points whose line runs the same way, mm: each can be dragged without a kink."""
    return few_points(ground, points, off_mm=OFF_MM, closed=seam.closed, report=report)


def _is_held(on: str) -> bool:
    """Return whether an end stays where it is: on a rim or another seam, not on the line itself."""
    return bool(on) and not on.startswith(("line ", "station "))


def _is_alongside(points: FloatArray, line: FloatArray) -> FloatArray:
    gaps = np.array([np.linalg.norm(nearest_on_line(line, p) - p) for p in points])
    return np.asarray(gaps <= ALONGSIDE_MM)


def runs_along(points: FloatArray, line: FloatArray) -> bool:
    """Return whether half of a seam's points, two at least, run along a line, mm."""
    beside = _is_alongside(points, line)
    return bool(beside.sum() >= max(2, len(points) / 2.0))


def _lies_left(ground: SeamGround, points: FloatArray, line: FloatArray) -> bool:
    """Return whether points lie on the left of a line, seen from outside and along it."""
    sides = []
    normals = ground.normals(points)
    for point, normal in zip(points, normals, strict=True):
        at = int(np.linalg.norm(line - point, axis=1).argmin())
        ahead = line[min(at + 1, len(line) - 1)] - line[max(at - 1, 0)]
        sides.append(float(np.cross(normal, ahead) @ (point - nearest_on_line(line, point))))
    return bool(np.sum(sides) >= 0.0)


def _piece_along(line: FloatArray, points: FloatArray, is_ring: bool, *, whole: bool) -> FloatArray:
    """Return what of a line runs along a seam's points, from the first to the last.

    Of a ring, which does not repeat its first point, the way by the seam's middle point; all of it
    for a `whole` seam that is a ring, too.
    """
    if is_ring and not whole:
        first, middle, last = points[[0, len(points) // 2, -1]]
        there = piece_between(line, first, middle, closed=True)
        return np.concatenate([there, piece_between(line, middle, last, closed=True)[1:]])
    piece = piece_between(line, points[0], points[-1])
    return line if is_ring or len(piece) < 2 else piece


def _without_near(
    before: FloatArray, piece: FloatArray, after: FloatArray, off_mm: float
) -> FloatArray:
    """Return the three joined; places of the piece all but at the ends that stay are left out."""
    for ends in (before[-1:], after[:1]):
        if len(ends) and len(piece) > 2:
            piece = piece[np.linalg.norm(piece - ends[0], axis=1) > off_mm / 2.0]
    return np.concatenate([before, piece, after])


def _through(seam: SeamLine, points: FloatArray) -> SeamLine:
    """Return a seam through other points; its ends are on what they were on, if still there."""
    on = [""] * len(points)
    were = all_on(seam)
    if not seam.closed:
        on[0], on[-1] = were[0], were[-1]
    found = tuple(point3(point) for point in points)
    return SeamLine(seam.name, found, seam.closed, tuple(on) if any(on) else (), seam.mirror_of)

"""A lip already in the scan: where along a rim the skin is turned, and the line it turns on.

Sections are taken square to the rim, from its edge up the skin. A lip is a short bend there with
straight metal to the rim side of it; its root line is the middle of the bend, on the skin: half
of the bend goes with the lip, half with the panel, as a flange's bend line is laid out.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray, locked
from geometry.mesh import TriMesh, part_of_mesh, section
from geometry.polyline import lengths_along, line_length
from geometry.progress import Report, silent
from geometry.tank.line_bend import BentLine, LineBend

EVENED_MM = 25.0
"""A root line found is evened out over so much of its length."""

WIDEST_LIP_MM = 40.0
"""A wider strip along a rim is a face of the tank; common practice, no source."""

LEAST_LIP_TURN_RAD = np.radians(25.0)
"""A rim whose skin turns by less carries no lip; common practice, no source."""

WIDEST_BEND_MM = 15.0
"""A lip is turned on a smaller radius than this; common practice, no source."""

_LOOK_MM = 52.0
_BEYOND_LOOK_MM = 8.0
_STEP_MM = 0.5
_PITCH_MM = 5.0
_BESIDE_MM = 3.0
_LEAST_FLAT_MM = 1.0
_LEAST_BEHIND_MM = 8.0
_MOST_OFF_RAD = np.radians(7.0)
_STATIONS_CALMED = round(EVENED_MM / _PITCH_MM)
_LEAST_RUN_MM = 20.0
_GAP_STATIONS = 3


@dataclass(frozen=True, eq=False)
class Lip:
    """A lip along a stretch of a rim.

    Attributes
    ----------
    root : (k, 3) float, mm
        Its root line on the skin, in the rim's order; a closed one does not repeat its first.
    rim : (k, 3) float, mm
        Where on the rim each lies abreast of.
    width_mm : (k,) float
        From where the outer faces of wall and lip would meet to the rim.
    turn_rad : (k,) float
        How far the lip is turned out of the wall: above 0 to the tank's inside.
    radius_mm : (k,) float
        Outside radius of the bend, as the skin shows it.
    is_closed : bool
        Whether it runs right round.
    """

    root: FloatArray
    rim: FloatArray
    width_mm: FloatArray
    turn_rad: FloatArray
    radius_mm: FloatArray
    is_closed: bool

    def __post_init__(self) -> None:
        for array in (self.root, self.rim, self.width_mm, self.turn_rad, self.radius_mm):
            locked(array)

    @property
    def length_mm(self) -> float:
        """How long its root line is."""
        ring = np.concatenate([self.root, self.root[:1]]) if self.is_closed else self.root
        return line_length(ring)


def lips_along(
    mesh: TriMesh, rim: IntArray, *, noise_mm: float = 0.0, report: Report = silent
) -> tuple[Lip, ...]:
    """Return the lips along a rim, the longest first; none where the skin just ends.

    Parameters
    ----------
    mesh : TriMesh
        Faces outward.
    rim : (k,) int
        As `rims` gives it, with the skin on its left.
    noise_mm : float
        Standard error of the rim's points.
    report : Report

    Raises
    ------
    LineTooShortToBendError
    """
    line = BentLine(mesh.vertices[rim], is_closed=True, noise_mm=noise_mm)
    count = max(8, round(line.length_mm / _PITCH_MM))
    course = line.at(np.arange(count) * line.length_mm / count)
    sections: list[_Section | None] = []
    for at, near in enumerate(_near_stations(mesh, course.places)):
        report(at / count, "looking for a lip")
        sections.append(_section_from_rim(near, course, at))
    bends = _bends(_directions(sections, course))
    report(1.0, "looking for a lip")
    runs = _runs(bends.holds, line.length_mm / count)
    lips = [_lip(run, sections, bends, course) for run in runs]
    return tuple(sorted(lips, key=lambda lip: -lip.length_mm))


def _near_stations(mesh: TriMesh, places: FloatArray) -> Iterator[TriMesh]:
    """Yield the faces that a section from each place can meet."""
    middles = cKDTree(mesh.vertices[mesh.faces].mean(axis=1))
    for place in places:
        near = middles.query_ball_point(place, _LOOK_MM + _BEYOND_LOOK_MM)
        yield part_of_mesh(mesh, np.sort(np.array(near, np.int64)))[0]


def _section_from_rim(mesh: TriMesh, course: LineBend, at: int) -> "_Section | None":
    """Return the section square to the rim, from the rim's edge up the skin; None where none."""
    place, tangent = course.places[at], course.tangents[at]
    lines = section(mesh, place, tangent)
    ends = [(end, line) for line in lines for end in (line, line[::-1])]
    if not ends:
        return None
    off = [float(np.linalg.norm(line[0] - place)) for line, _ in ends]
    best = int(np.argmin(off))
    line = ends[best][0]
    along = lengths_along(line)
    if off[best] > _PITCH_MM or along[-1] < _LEAST_FLAT_MM + _LEAST_BEHIND_MM:
        return None
    line = line[: int(np.searchsorted(along, _LOOK_MM)) + 1]
    upward = line[min(2, len(line) - 1)] - line[0]
    begins = float((place - line[0]) @ upward / np.linalg.norm(upward))
    return _Section(line, lengths_along(line) - begins)


@dataclass(frozen=True, eq=False)
class _Section:
    """A section up the skin; `along` counts from the calmed rim, past what scatters at the edge."""

    line: FloatArray
    along: FloatArray


def _directions(sections: list[_Section | None], course: LineBend) -> FloatArray:
    """Return (stations, steps) which way each section runs, rad about the rim's tangent.

    Counted from its first steps; the last is held where a section ends; nan where there is none.
    """
    steps = np.arange(0.5, _LOOK_MM / _STEP_MM) * _STEP_MM
    found = np.full((len(sections), len(steps)), np.nan)
    for at, cut in enumerate(sections):
        if cut is None:
            continue
        runs = np.diff(cut.line, axis=0)
        long = np.linalg.norm(runs, axis=1) > 1e-6
        runs, ends = runs[long], cut.along[1:][long]
        upward = runs[0] / np.linalg.norm(runs[0])
        across = np.cross(course.tangents[at], upward)
        angle = np.unwrap(np.arctan2(runs @ across, runs @ upward))
        found[at] = angle[np.minimum(np.searchsorted(ends, steps), len(angle) - 1)]
    wide = np.concatenate([found[-2:], found, found[:2]])
    calmed = median_filter(np.nan_to_num(wide), size=(_STATIONS_CALMED, 1))[2:-2]
    return np.where(np.isnan(found), np.nan, calmed)


@dataclass(frozen=True, eq=False)
class _Bends:
    begins: FloatArray
    ends: FloatArray
    middle: FloatArray
    turn: FloatArray
    off: FloatArray

    @property
    def holds(self) -> IntArray:
        """Which stations carry a lip."""
        turn = np.abs(self.turn)
        radius = (self.ends - self.begins) / np.maximum(turn, 1e-6)
        width = self.begins + radius * np.tan(np.minimum(turn, 2.6) / 2.0)
        lip = (turn >= LEAST_LIP_TURN_RAD) & (radius <= WIDEST_BEND_MM)
        lip &= (width <= WIDEST_LIP_MM) & (self.begins >= _LEAST_FLAT_MM)
        return np.asarray(lip & (self.off < _MOST_OFF_RAD))


def _bends(direction: FloatArray) -> _Bends:
    """Return the bend that explains every section best: straight, evenly turning, gently bent.

    All beginnings and widths of a bend on a grid, for each the least squares.
    """
    steps = (np.arange(direction.shape[1]) + 0.5) * _STEP_MM
    known = ~np.isnan(direction).any(axis=1)
    wanted = np.nan_to_num(direction).T
    best = np.full(direction.shape[0], np.inf)
    found = np.zeros((direction.shape[0], 5))
    for begins in np.arange(0.0, WIDEST_LIP_MM + 0.1, 1.0):
        for wide in (0.5, 1.5, 3.0, 4.5, 6.0, 8.0, 10.0, 13.0, 17.0, 22.0, 28.0):
            if begins + wide > _LOOK_MM - _LEAST_BEHIND_MM:
                continue
            turned = np.clip((steps - begins) / wide, 0.0, 1.0)
            behind = np.maximum(steps - begins - wide, 0.0)
            design = np.stack([np.ones_like(steps), turned, behind], axis=1)
            solved = np.linalg.lstsq(design, wanted, rcond=None)[0]
            off = np.sqrt(((wanted - design @ solved) ** 2).mean(axis=0))
            better = off < best
            best[better] = off[better]
            found[better, 0], found[better, 1] = begins, begins + wide
            found[better, 2:] = solved[:, better].T
    best[~known] = np.inf
    middle = _middles(np.asarray(wanted.T), np.asarray(steps, np.float64), found)
    return _Bends(found[:, 0], found[:, 1], middle, found[:, 3], best)


def _middles(direction: FloatArray, steps: FloatArray, found: FloatArray) -> FloatArray:
    """Return where half of each bend is turned, finer than the grid it was found on.

    What is turned so far, summed from before the bend to behind it: a bend in one place at u
    gives (end - u) turns, and so does any bend even about u.
    """
    begins, ends, first, turn, behind = found.T
    end = ends + _BESIDE_MM
    beside = (steps > (begins - _BESIDE_MM)[:, None]) & (steps < end[:, None])
    turned = direction - first[:, None]
    turned -= behind[:, None] * np.maximum(steps - ends[:, None], 0.0)
    whole = (turned * beside).sum(axis=1) * _STEP_MM
    low = np.maximum(begins - _BESIDE_MM, 0.0)
    covered = beside.sum(axis=1) * _STEP_MM
    middle = low + covered - whole / np.where(np.abs(turn) < 1e-6, 1.0, turn)
    return np.asarray(np.clip(middle, begins, ends))


def _runs(holds: IntArray, pitch_mm: float) -> list[IntArray]:
    """Return runs of stations that carry a lip, short gaps closed, short runs left out."""
    count = len(holds)
    if holds.all():
        return [np.arange(count)]
    first = int(np.flatnonzero(~holds)[0])
    order = (np.arange(count) + first) % count
    runs: list[list[int]] = []
    last = -count
    for at in np.flatnonzero(holds[order]).tolist():
        if at - last > _GAP_STATIONS + 1:
            runs.append([])
        runs[-1].append(int(order[at]))
        last = at
    return [np.array(run) for run in runs if len(run) * pitch_mm >= _LEAST_RUN_MM]


def _lip(run: IntArray, sections: list[_Section | None], bends: _Bends, course: LineBend) -> Lip:
    is_closed = len(run) == len(course.places)
    calm = _evened(bends.middle[run], is_closed)
    turn = _evened(np.abs(bends.turn[run]), is_closed)
    radius = _evened((bends.ends - bends.begins)[run], is_closed) / turn
    root = []
    for at, along in zip(run.tolist(), calm.tolist(), strict=True):
        cut = sections[at]
        if cut is not None:
            root.append([np.interp(along, cut.along, cut.line[:, axis]) for axis in range(3)])
    width = calm - radius * turn / 2.0 + radius * np.tan(turn / 2.0)
    inside = -np.sign(np.median(bends.turn[run]))  # up the skin a lip turned in bends inward
    return Lip(np.array(root), course.places[run], width, inside * turn, radius, is_closed)


def _evened(values: FloatArray, is_closed: bool) -> FloatArray:
    """Return values with single strange ones drawn in and neighbours evened out."""
    wide = _STATIONS_CALMED
    padded = np.pad(values, wide, mode="wrap" if is_closed else "edge")
    calm = np.asarray(median_filter(padded, size=wide), np.float64)
    return np.asarray(np.convolve(calm, np.ones(wide) / wide, mode="same")[wide:-wide])

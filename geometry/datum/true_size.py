"""True size: what one unit of the scan's file is in millimetres, and whether a tape says so too.

Points and mesh are in the file's unit here; everything after this step is in millimetres.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.interpolate import make_lsq_spline

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.mesh import NearestPoint, PathFinder, SurfacePoint, TriMesh
from geometry.progress import Report, part_of, silent
from geometry.scan import MM_PER_UNIT, Unit

ALLOWED_OFF_MM = 1.0
ALLOWED_OFF_RATIO = 0.002
"""How far a tape may be off: the larger of the two. Common practice, no source."""

DIFFERENT_DIRECTIONS_RAD = np.deg2rad(30.0)
"""Two tapes prove a size only when they lie at least this far apart in direction: one tape, or two
alongside each other, cannot show a scan that is stretched one way."""

KNOTS_APART = 5.0
"""Knots of the curve laid through a path, in pieces of that path: enough to take scan noise out."""

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Tape:
    """A taped distance between two points of the file.

    Attributes
    ----------
    start, end : three floats, the file's unit
    length_mm : float
        What the tape said.
    over : bool
        The tape lay on the surface; otherwise it was pulled straight.
    """

    start: Point3
    end: Point3
    length_mm: float
    over: bool = False


@dataclass(frozen=True)
class TapeCheck:
    """One tape against the scan at the size taken.

    Attributes
    ----------
    tape : Tape
    in_file : float, the file's unit
        The same distance in the file.
    scan_mm : float
        The same distance at the size taken.
    off_mm : float
        Scan minus tape.
    allowed_mm : float
    """

    tape: Tape
    in_file: float
    scan_mm: float
    off_mm: float
    allowed_mm: float

    @property
    def agrees(self) -> bool:
        """Whether scan and tape differ by no more than allowed."""
        return abs(self.off_mm) <= self.allowed_mm


@dataclass(frozen=True)
class TrueSize:
    """The size taken and how sure it is.

    Attributes
    ----------
    mm_per_unit : float
        Millimetres for one unit of the file.
    unit : str or None
        mm, cm, m or in; None when the scan was rescaled to the tapes.
    unit_was_given : bool
        False when the tapes picked the unit, or the scale.
    checks : tuple of TapeCheck
        All agree.
    proved : bool
        At least two tapes in different directions agree.
    """

    mm_per_unit: float
    unit: Unit | None
    unit_was_given: bool
    checks: tuple[TapeCheck, ...]
    proved: bool


class SizeUnknownError(GeometryError):
    """Neither a unit nor a tape was given: nothing with a size can be made."""


class TapeTooShortError(GeometryError):
    """A tape joins a point to itself, or its length is not above nothing.

    Attributes
    ----------
    tape : Tape
    """

    def __init__(self, tape: Tape) -> None:
        self.tape = tape
        super().__init__(f"a tape of {tape.length_mm} mm from {tape.start} to {tape.end}")


class TapeOffError(GeometryError):
    """Tapes and scan do not agree at the unit given, or with each other when rescaling.

    Attributes
    ----------
    checks : tuple of TapeCheck
        All tapes, those that agree too.
    unit : str or None
    units_that_fit : tuple of str
        Units at which every tape would agree.
    """

    def __init__(
        self, checks: tuple[TapeCheck, ...], unit: str | None, units_that_fit: tuple[str, ...]
    ) -> None:
        self.checks, self.unit, self.units_that_fit = checks, unit, units_that_fit
        off = [check.off_mm for check in checks if not check.agrees]
        super().__init__(f"tapes off by {off} mm at unit {unit}")


class NoUnitFitsTapesError(GeometryError):
    """No unit makes the scan agree with the tapes.

    Attributes
    ----------
    closest_unit : str
    checks : tuple of TapeCheck
        At the closest unit.
    """

    def __init__(self, closest_unit: str, checks: tuple[TapeCheck, ...]) -> None:
        self.closest_unit, self.checks = closest_unit, checks
        super().__init__(f"no unit fits; {closest_unit} is closest")


class SeveralUnitsFitTapesError(GeometryError):
    """More than one unit makes the scan agree with the tapes: they are too short to tell.

    Attributes
    ----------
    units : tuple of str
    """

    def __init__(self, units: tuple[str, ...]) -> None:
        self.units = units
        super().__init__(f"units {units} all fit")


def allowed_off_mm(length_mm: float) -> float:
    """Return how far a tape of some length may be off, mm.

    >>> allowed_off_mm(100.0), allowed_off_mm(1000.0)
    (1.0, 2.0)
    """
    return max(ALLOWED_OFF_MM, ALLOWED_OFF_RATIO * length_mm)


def true_size(
    mesh: TriMesh,
    tapes: Sequence[Tape],
    *,
    unit: Unit | None = None,
    rescale: bool = False,
    report: Report = silent,
) -> TrueSize:
    """Return the size of a scan from the unit given, the tapes, or both.

    Parameters
    ----------
    mesh : TriMesh, the file's unit
    tapes : sequence of Tape
    unit : str, optional
        mm, cm, m or in. Without it the tapes pick one.
    rescale : bool
        The scan has no scale of its own: take it from the tapes and leave `unit` out.

    Raises
    ------
    SizeUnknownError, TapeTooShortError, TapeOffError, NoUnitFitsTapesError,
    SeveralUnitsFitTapesError
    """
    if unit is not None and unit not in MM_PER_UNIT:
        raise ValueError(f"unit {unit!r} is not one of {', '.join(MM_PER_UNIT)}")
    if rescale and unit is not None:
        raise ValueError("a scan is either in a unit or rescaled, not both")
    if not tapes and (unit is None or rescale):
        raise SizeUnknownError
    in_file = _lengths_in_file(mesh, tapes, report)
    if rescale:
        return _rescaled(tapes, in_file)
    units = (unit,) if unit is not None else tuple(MM_PER_UNIT)
    fitting = _units_that_fit(tapes, in_file, units)
    if len(fitting) == 1:
        checks = _checks(tapes, in_file, MM_PER_UNIT[fitting[0]])
        return TrueSize(
            MM_PER_UNIT[fitting[0]], fitting[0], unit is not None, checks, _prove(checks)
        )
    if fitting:
        raise SeveralUnitsFitTapesError(fitting)
    if unit is not None:
        every = _units_that_fit(tapes, in_file, tuple(MM_PER_UNIT))
        raise TapeOffError(_checks(tapes, in_file, MM_PER_UNIT[unit]), unit, every)
    closest = min(MM_PER_UNIT, key=lambda name: _misfit(tapes, in_file, MM_PER_UNIT[name]))
    raise NoUnitFitsTapesError(closest, _checks(tapes, in_file, MM_PER_UNIT[closest]))


def _lengths_in_file(mesh: TriMesh, tapes: Sequence[Tape], report: Report) -> list[float]:
    lengths = []
    for place, tape in enumerate(tapes):
        share = part_of(report, place / len(tapes), (place + 1) / len(tapes))
        lengths.append(taped_length(mesh, tape, report=share))
        if not (lengths[-1] > 0.0 and tape.length_mm > 0.0):
            raise TapeTooShortError(tape)
    return lengths


def _rescaled(tapes: Sequence[Tape], in_file: list[float]) -> TrueSize:
    """Take the scale at which the sum of squared differences from the tapes is least."""
    taped = np.array([tape.length_mm for tape in tapes])
    scanned = np.array(in_file)
    mm_per_unit = float(taped @ scanned / (scanned @ scanned))
    checks = _checks(tapes, in_file, mm_per_unit)
    if not all(check.agrees for check in checks):
        raise TapeOffError(checks, None, ())
    return TrueSize(mm_per_unit, None, False, checks, _prove(checks))


def _units_that_fit(
    tapes: Sequence[Tape], in_file: list[float], units: tuple[Unit, ...]
) -> tuple[Unit, ...]:
    return tuple(
        unit
        for unit in units
        if all(check.agrees for check in _checks(tapes, in_file, MM_PER_UNIT[unit]))
    )


def _checks(
    tapes: Sequence[Tape], in_file: list[float], mm_per_unit: float
) -> tuple[TapeCheck, ...]:
    return tuple(
        TapeCheck(
            tape,
            length,
            length * mm_per_unit,
            length * mm_per_unit - tape.length_mm,
            allowed_off_mm(tape.length_mm),
        )
        for tape, length in zip(tapes, in_file, strict=True)
    )


def _misfit(tapes: Sequence[Tape], in_file: list[float], mm_per_unit: float) -> float:
    ratios = [
        length * mm_per_unit / tape.length_mm for tape, length in zip(tapes, in_file, strict=True)
    ]
    return float(np.abs(np.log(ratios)).max())


def _prove(checks: tuple[TapeCheck, ...]) -> bool:
    """Return whether two tapes that agree lie in different directions."""
    along = [np.subtract(c.tape.end, c.tape.start) for c in checks if c.agrees]
    along = [direction / np.linalg.norm(direction) for direction in along]
    limit = np.cos(DIFFERENT_DIRECTIONS_RAD)
    return any(abs(float(a @ b)) <= limit for a, b in combinations(along, 2))


def taped_length(mesh: TriMesh, tape: Tape, *, report: Report = silent) -> float:
    """Return the distance a tape was laid along, in the mesh's unit.

    Straight tapes run between the points as given. A tape over the surface follows the shortest
    path on it; a smooth curve is laid through that path first, because a tape does not follow the
    grain of the scan, which would make it too long.
    """
    start, end = np.array(tape.start), np.array(tape.end)
    if not tape.over or np.array_equal(start, end):
        return float(np.linalg.norm(end - start))
    report(0.0, "find the ends of the tape")
    near = NearestPoint(mesh).find(np.stack([start, end]))
    ends = [
        SurfacePoint(int(face), weights)
        for face, weights in zip(near.faces, near.barycentric, strict=True)
    ]
    report(0.3, "lay the tape over the surface")
    path = PathFinder(mesh).path(*ends).points
    report(1.0, "lay the tape over the surface")
    return _smooth_length(path)


def _smooth_length(path: FloatArray) -> float:
    """Return the length of a least-squares cubic through a path's points, ends kept.

    >>> turn = np.linspace(0.0, np.pi, 200)
    >>> round(_smooth_length(np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)), 3)
    3.142
    """
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    keep = np.concatenate([[True], steps > 0.0])
    points = path[keep]
    along = np.concatenate([[0.0], np.cumsum(steps[steps > 0.0])])
    pieces = int((len(points) - 1) // KNOTS_APART)
    if pieces < 2:
        return float(along[-1])
    places = np.linspace(0.0, along[-1], int(pieces * KNOTS_APART * 2) + 1)
    even = np.stack([np.interp(places, along, points[:, axis]) for axis in range(3)], axis=1)
    knots = np.linspace(0.0, along[-1], pieces + 1)
    knots = np.concatenate([[knots[0]] * 3, knots, [knots[-1]] * 3])
    weight = np.ones(len(places))
    weight[[0, -1]] = 1e3
    curve = make_lsq_spline(places, even, knots, k=3, w=weight)
    fine = curve(np.linspace(0.0, along[-1], 20 * pieces + 1))
    return float(np.linalg.norm(np.diff(fine, axis=0), axis=1).sum())

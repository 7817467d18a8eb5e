"""True size: what one unit of the scan's file is in millimetres, and whether tapes say so too.

Points and mesh are in the file's unit here; everything after this step is in millimetres.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum.axis_off import AxisOff, axis_off, scale_off
from geometry.datum.girth import GirthError
from geometry.datum.tape import (
    LaidTape,
    Tape,
    TapeLayer,
    TapeTooShortError,
)
from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.scan import MM_PER_UNIT, Unit, likely_unit

DIFFERENT_DIRECTIONS_RAD = np.deg2rad(30.0)
"""Two tapes prove a size only when they lie at least this far apart in direction: one tape, or two
alongside each other, cannot show a scan that is stretched one way."""

LEAST_ACROSS_MM, MOST_ACROSS_MM = 5.0, 20_000.0
"""What is smaller or larger than this at the unit given, with no tape to say so, is in another."""

TOLD_HOLLOW_MM = 0.1
"""A tape that bridges less than this is said to follow the surface."""


@dataclass(frozen=True)
class Allowance:
    """How far a tape may be off: the larger of a length and a share of what was taped.

    Attributes
    ----------
    mm : float
    ratio : float
        Of the taped length. Both as usual are common practice, no source.
    """

    mm: float = 1.0
    ratio: float = 0.002

    def __post_init__(self) -> None:
        if not (0.0 <= self.mm < np.inf and 0.0 <= self.ratio < 1.0 and self.mm + self.ratio > 0.0):
            raise ValueError(f"no tape can be held to {self.mm} mm or {self.ratio} of its length")

    def off_mm(self, length_mm: float) -> float:
        """Return how far a tape of some length may be off, mm.

        >>> Allowance().off_mm(100.0), Allowance().off_mm(1000.0)
        (1.0, 2.0)
        """
        return max(self.mm, self.ratio * length_mm)


USUAL_ALLOWANCE = Allowance()


@dataclass(frozen=True)
class TapeCheck:
    """One tape against the scan at the size taken.

    Attributes
    ----------
    tape : Tape
    in_file : float, the file's unit
        The same length in the file.
    scan_mm : float
        The same length at the size taken.
    off_mm : float
        Scan minus tape.
    allowed_mm : float
    followed_mm : float, optional
        The length down into every hollow, where the tape of a girth bridges some.
    gap_mm : float
        The longest gap in the scan that a girth spans straight across; 0 without.
    is_closed : bool
        A girth right round.
    """

    tape: Tape
    in_file: float
    scan_mm: float
    off_mm: float
    allowed_mm: float
    followed_mm: float | None = None
    gap_mm: float = 0.0
    is_closed: bool = False

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


class SizeOutOfReasonError(GeometryError):
    """At the unit given, with no tape to say so, the scan is no size a tank can have.

    Attributes
    ----------
    unit : str
    across_mm : float
        Its longest side at that unit.
    likely_unit : str
        The unit in which it is about the size of a tank.
    likely_mm : float
        Its longest side in that one.
    """

    def __init__(self, unit: str, across_mm: float, likely: str, likely_mm: float) -> None:
        self.unit, self.across_mm = unit, across_mm
        self.likely_unit, self.likely_mm = likely, likely_mm
        super().__init__(f"{across_mm} mm across in {unit}, {likely_mm} mm in {likely}")


class TapeGirthError(GeometryError):
    """A girth's points fix no plane, or no one outline holds them.

    Attributes
    ----------
    number : int
        Which tape, counted from 1.
    tape : Tape
    reason : "in line" or "apart"
    """

    def __init__(self, number: int, tape: Tape, reason: str) -> None:
        self.number, self.tape, self.reason = number, tape, reason
        super().__init__(f"no girth for tape {number}: its points are {reason}")


class TapeOffError(GeometryError):
    """Tapes and scan do not agree at the unit given, or with each other when rescaling.

    Attributes
    ----------
    checks : tuple of TapeCheck
        All tapes, those that agree too.
    unit : str or None
    units_that_fit : tuple of str
        Units at which every tape would agree.
    axis : AxisOff, optional
        The one direction in which the scan is off, where that explains every tape.
    scale : float, optional
        Scan over true length less one, where one scale all over explains every tape.
    """

    def __init__(
        self,
        checks: tuple[TapeCheck, ...],
        unit: str | None,
        units_that_fit: tuple[str, ...],
        axis: AxisOff | None = None,
        scale: float | None = None,
    ) -> None:
        self.checks, self.unit, self.units_that_fit = checks, unit, units_that_fit
        self.axis, self.scale = axis, scale
        off = [check.off_mm for check in checks if not check.agrees]
        super().__init__(f"tapes off by {off} mm at unit {unit}")


class NoUnitFitsTapesError(GeometryError):
    """No unit makes the scan agree with the tapes.

    Attributes
    ----------
    closest_unit : str
    checks : tuple of TapeCheck
        At the closest unit.
    axis, scale
        As for TapeOffError, at the closest unit.
    """

    def __init__(
        self,
        closest_unit: str,
        checks: tuple[TapeCheck, ...],
        axis: AxisOff | None = None,
        scale: float | None = None,
    ) -> None:
        self.closest_unit, self.checks = closest_unit, checks
        self.axis, self.scale = axis, scale
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
    """Return how far a tape of some length may be off as usual, mm.

    >>> allowed_off_mm(100.0), allowed_off_mm(1000.0)
    (1.0, 2.0)
    """
    return USUAL_ALLOWANCE.off_mm(length_mm)


def true_size(
    mesh: TriMesh,
    tapes: Sequence[Tape],
    *,
    unit: Unit | None = None,
    rescale: bool = False,
    allowed: Allowance = USUAL_ALLOWANCE,
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
    allowed : Allowance
        How far a tape may be off.

    Raises
    ------
    SizeUnknownError, SizeOutOfReasonError, TapeTooShortError, TapeOffSurfaceError,
    TapeGirthError, TapeOffError, NoUnitFitsTapesError, SeveralUnitsFitTapesError
    """
    if unit is not None and unit not in MM_PER_UNIT:
        raise ValueError(f"unit {unit!r} is not one of {', '.join(MM_PER_UNIT)}")
    if rescale and unit is not None:
        raise ValueError("a scan is either in a unit or rescaled, not both")
    if not tapes:
        if unit is None or rescale:
            raise SizeUnknownError
        _check_within_reason(mesh, unit)
    laid = _Laid(tuple(tapes), _laid(mesh, tapes, report), allowed)
    if rescale:
        return _rescaled(laid)
    units = (unit,) if unit is not None else tuple(MM_PER_UNIT)
    fitting = laid.units_that_fit(units)
    if len(fitting) == 1:
        checks = laid.checks(MM_PER_UNIT[fitting[0]])
        proved = laid.prove(checks)
        return TrueSize(MM_PER_UNIT[fitting[0]], fitting[0], unit is not None, checks, proved)
    if fitting:
        raise SeveralUnitsFitTapesError(fitting)
    if unit is not None:
        checks = laid.checks(MM_PER_UNIT[unit])
        every = laid.units_that_fit(tuple(MM_PER_UNIT))
        raise TapeOffError(checks, unit, every, *laid.what_is_off(checks))
    closest = min(MM_PER_UNIT, key=lambda name: laid.misfit(MM_PER_UNIT[name]))
    checks = laid.checks(MM_PER_UNIT[closest])
    raise NoUnitFitsTapesError(closest, checks, *laid.what_is_off(checks))


def _check_within_reason(mesh: TriMesh, unit: Unit) -> None:
    across = float(np.ptp(mesh.vertices, axis=0).max())
    if not LEAST_ACROSS_MM <= across * MM_PER_UNIT[unit] <= MOST_ACROSS_MM:
        likely = likely_unit(across)
        if likely != unit:
            raise SizeOutOfReasonError(
                unit, across * MM_PER_UNIT[unit], likely, across * MM_PER_UNIT[likely]
            )


def _laid(mesh: TriMesh, tapes: Sequence[Tape], report: Report) -> tuple[LaidTape, ...]:
    """Lay every tape on the scan."""
    for tape in tapes:
        if not tape.length_mm > 0.0 or len(set(tape.picks)) < 2:
            raise TapeTooShortError(tape)
    layer = TapeLayer(mesh)
    layer.check_points(tapes)
    laid = []
    for place, tape in enumerate(tapes):
        share = part_of(report, place / len(tapes), (place + 1) / len(tapes))
        try:
            laid.append(layer.lay(tape, report=share))
        except GirthError as error:
            raise TapeGirthError(place + 1, tape, error.reason) from error
        if not laid[-1].length > 0.0:
            raise TapeTooShortError(tape)
    return tuple(laid)


@dataclass(frozen=True)
class _Laid:
    """Tapes as they lie on the scan, to be read at one size or another."""

    tapes: tuple[Tape, ...]
    laid: tuple[LaidTape, ...]
    allowed: Allowance

    def checks(self, mm_per_unit: float) -> tuple[TapeCheck, ...]:
        """Return every tape beside the scan at a size."""
        return tuple(
            self._check(tape, laid, mm_per_unit)
            for tape, laid in zip(self.tapes, self.laid, strict=True)
        )

    def _check(self, tape: Tape, laid: LaidTape, mm_per_unit: float) -> TapeCheck:
        scan_mm, followed = laid.length * mm_per_unit, laid.followed * mm_per_unit
        return TapeCheck(
            tape,
            laid.length,
            scan_mm,
            scan_mm - tape.length_mm,
            self.allowed.off_mm(tape.length_mm),
            followed if followed - scan_mm > TOLD_HOLLOW_MM else None,
            laid.gap * mm_per_unit,
            laid.is_closed,
        )

    def units_that_fit(self, units: tuple[Unit, ...]) -> tuple[Unit, ...]:
        """Return the units at which every tape agrees."""
        return tuple(
            unit for unit in units if all(check.agrees for check in self.checks(MM_PER_UNIT[unit]))
        )

    def misfit(self, mm_per_unit: float) -> float:
        """Return the largest factor, as its logarithm, between a tape and the scan."""
        ratios = [check.scan_mm / check.tape.length_mm for check in self.checks(mm_per_unit)]
        return float(np.abs(np.log(ratios)).max())

    def what_is_off(
        self, checks: tuple[TapeCheck, ...], *, any_scale: bool = False
    ) -> tuple[AxisOff | None, float | None]:
        """Return the direction that is off, and the scale that is, where one explains all."""
        lengths = (
            [check.scan_mm for check in checks],
            [check.tape.length_mm for check in checks],
            [check.allowed_mm for check in checks],
        )
        spreads = [laid.spread for laid in self.laid]
        return axis_off(spreads, *lengths, any_scale=any_scale), scale_off(*lengths)

    def prove(self, checks: tuple[TapeCheck, ...]) -> bool:
        """Return whether two tapes that agree lie in different directions."""
        spreads = [
            _direction(check.tape, laid)
            for check, laid in zip(checks, self.laid, strict=True)
            if check.agrees
        ]
        spreads = [spread / np.linalg.norm(spread) for spread in spreads]
        limit = np.cos(DIFFERENT_DIRECTIONS_RAD) ** 2
        return any(float((one * other).sum()) <= limit for one, other in combinations(spreads, 2))


def _direction(tape: Tape, laid: LaidTape) -> FloatArray:
    """Return how a tape lies, as u uT: of its ends, or of all its line where it goes about."""
    along = np.subtract(tape.end, tape.start)
    if tape.kind in ("straight", "over"):
        return np.outer(along, along)
    return laid.spread


def _rescaled(laid: _Laid) -> TrueSize:
    """Take the scale at which the sum of squared differences from the tapes is least."""
    taped = np.array([tape.length_mm for tape in laid.tapes])
    scanned = np.array([line.length for line in laid.laid])
    mm_per_unit = float(taped @ scanned / (scanned @ scanned))
    checks = laid.checks(mm_per_unit)
    if not all(check.agrees for check in checks):
        raise TapeOffError(checks, None, (), laid.what_is_off(checks, any_scale=True)[0])
    return TrueSize(mm_per_unit, None, False, checks, laid.prove(checks))

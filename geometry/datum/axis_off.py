"""What is wrong when tapes and scan disagree: a scale all over, or a scan pulled one way.

A scan stretched by C (symmetric, what true squares of lengths are of the scan's) shows on a tape
as the mean of uT C u over its line: exact for a straight tape, nearly so for a bent one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked

FileAxis = Literal["x", "y", "z"]
_AXES: tuple[FileAxis, ...] = ("x", "y", "z")

SHOWS_SHARE = 0.25
"""A tape shows a stretch one way when at least this share of it (cosine squared) runs that way:
60 degrees off at most."""

ONE_WAY_RAD = np.deg2rad(20.0)
"""Directions that explain the tapes within this of each other are one direction."""

FEWEST_FOR_ANY_WAY = 4
"""Tapes that can tell a direction which is no axis of the file: two angles, an amount, a check."""

_DIRECTIONS = 2000
_MOST = 0.5
"""A scan more than so far out of true one way is no scan pulled one way."""


@dataclass(frozen=True, eq=False)
class AxisOff:
    """One direction in which the scan is too long or too short; it explains every tape.

    Attributes
    ----------
    direction : (3,) float
        Unit vector in the file.
    ratio : float
        Scan over true length that way, less one: 0.012 is 1.2 mm in 100 too long.
    file_axis : "x", "y", "z" or ""
        The file's axis, when it is one.
    tapes : tuple of int
        Which tapes show it, counted from 1.
    is_sure : bool
        At least two do; one alone may have been misread.
    """

    direction: FloatArray
    ratio: float
    file_axis: FileAxis | Literal[""]
    tapes: tuple[int, ...]
    is_sure: bool

    def __post_init__(self) -> None:
        locked(self.direction)


class _Tapes:
    """Squares of true over scanned length beside what a stretch would do to them."""

    def __init__(
        self, spreads: FloatArray, scan_mm: FloatArray, taped_mm: FloatArray, allowed: FloatArray
    ) -> None:
        self.spreads, self.scan_mm, self.taped_mm, self.allowed = (
            spreads, scan_mm, taped_mm, allowed
        )  # fmt: skip
        self.missing = (taped_mm / scan_mm) ** 2 - 1.0
        self.weight = (scan_mm / (2.0 * allowed)) ** 2
        self.off: BoolArray = np.abs(scan_mm - taped_mm) > allowed

    def fitted(self, shares: FloatArray, any_scale: bool) -> tuple[FloatArray, FloatArray]:
        """Return for each hypothesis its amount c and its worst leftover over what is allowed.

        Least squares on the squares of lengths, in which a stretch one way is a straight line.

        shares : (j, k), what each of k tapes has of each of j hypotheses.
        any_scale : the scan has no scale of its own, so that one is fitted besides.
        """
        weight = self.weight / self.weight.sum()
        missing, scale = self.missing, np.ones((len(shares), 1))
        slope_of, level = shares, np.zeros((len(shares), 1))
        if any_scale:
            level = shares @ weight[:, None]
            slope_of, missing = shares - level, missing - weight @ missing
        below = np.maximum((weight * slope_of**2).sum(axis=1), 1e-30)
        slope = (weight * slope_of * missing).sum(axis=1) / below
        if any_scale:
            scale = 1.0 + weight @ self.missing - slope[:, None] * level
        amount = -slope / np.maximum(scale[:, 0], 1e-30)
        true = self.scan_mm * np.sqrt(np.maximum(scale + slope[:, None] * shares, 0.0))
        return amount, (np.abs(true - self.taped_mm) / self.allowed).max(axis=1)

    def shares(self, directions: FloatArray) -> FloatArray:
        """Return how much of each tape runs in each direction: (j, k)."""
        return np.asarray(np.einsum("ja,kab,jb->jk", directions, self.spreads, directions))


def scale_off(
    scan_mm: Sequence[float], taped_mm: Sequence[float], allowed_mm: Sequence[float]
) -> float | None:
    """Return scan over true length less one, if one scale brings two tapes or more together.

    >>> round(scale_off([102.0, 204.0], [100.0, 200.0], [1.0, 1.0]), 4)
    0.02
    """
    if len(scan_mm) < 2:
        return None
    tapes = _Tapes(np.zeros((len(scan_mm), 3, 3)), *map(np.array, (scan_mm, taped_mm, allowed_mm)))
    amount, worst = tapes.fitted(np.ones((1, len(scan_mm))), any_scale=False)
    return _ratio(amount[0]) if worst[0] <= 1.0 else None


def axis_off(
    spreads: Sequence[FloatArray],
    scan_mm: Sequence[float],
    taped_mm: Sequence[float],
    allowed_mm: Sequence[float],
    *,
    any_scale: bool = False,
) -> AxisOff | None:
    """Return the one direction whose stretch explains every tape, or None.

    The file's own axes are tried first; any direction where four tapes or more can tell it. One
    tape tells nothing, nor do tapes that two axes explain, or a scale all over.

    Parameters
    ----------
    spreads : (3, 3) each
        Mean of u uT over each tape, in the file's axes.
    scan_mm, taped_mm, allowed_mm : sequences of float
    any_scale : bool
        The scan has no scale of its own: it takes a tape more to tell.
    """
    tapes = _Tapes(np.array(spreads), *map(np.array, (scan_mm, taped_mm, allowed_mm)))
    if len(scan_mm) < 2 + any_scale or not tapes.off.any():
        return None
    if scale_off(scan_mm, taped_mm, allowed_mm) is not None:
        return None
    amounts, worst = tapes.fitted(tapes.shares(np.eye(3)), any_scale)
    explain = np.flatnonzero(worst <= 1.0)
    if len(explain) == 1:
        axis = int(explain[0])
        return _found(tapes, np.eye(3)[axis], float(amounts[axis]), _AXES[axis], any_scale)
    if len(explain) or len(scan_mm) < FEWEST_FOR_ANY_WAY + any_scale:
        return None
    directions = _half_sphere(_DIRECTIONS)
    amounts, worst = tapes.fitted(tapes.shares(directions), any_scale)
    best = int(worst.argmin())
    near = np.abs(directions @ directions[best]) >= np.cos(ONE_WAY_RAD)
    if worst[best] > 1.0 or not near[worst <= 1.0].all():
        return None
    return _found(tapes, directions[best], float(amounts[best]), "", any_scale)


def _found(
    tapes: _Tapes,
    direction: FloatArray,
    amount: float,
    file_axis: FileAxis | Literal[""],
    any_scale: bool,
) -> AxisOff | None:
    if not abs(_ratio(amount)) <= _MOST:
        return None
    shares = tapes.shares(direction[None])[0]
    shows = (tapes.off | any_scale) & (shares >= SHOWS_SHARE)
    numbers = tuple(int(place) + 1 for place in np.flatnonzero(shows))
    return AxisOff(direction.copy(), _ratio(amount), file_axis, numbers, len(numbers) > 1)


def _ratio(amount: float) -> float:
    """Return scan over true length less one from c, where (true / scan)^2 is 1 - c."""
    return float(1.0 / np.sqrt(1.0 - amount) - 1.0) if amount < 1.0 else float("inf")


def _half_sphere(count: int) -> FloatArray:
    """Return evenly spread directions, one of every pair of opposites."""
    place = np.arange(count) + 0.5
    height = place / count
    turn = np.pi * (1.0 + np.sqrt(5.0)) * place
    level = np.sqrt(1.0 - height**2)
    return np.stack([level * np.cos(turn), level * np.sin(turn), height], axis=1)

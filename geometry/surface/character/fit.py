"""Flank, round and flank fitted to many profiles at once.

The model is that of `geometry.surface.locked`, two flanks and an arc that touches both, here told
by where the flanks meet, and with flanks that are arcs themselves instead of parabolas: a steep one
of even crown then stays one. A fit moves all seven numbers of every profile together.
"""

from copy import copy
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.progress import Report, silent
from geometry.surface.character.profile import Profiles

_STARTS = (0.3, 1.0, 2.5, 5.0, 9.0, 14.0)
_MOST_RADIUS = 40.0
_FIRST_ROUNDS, _ROUNDS = 3, 12
_SETTLED = 1e-3
_OUTER_SHARE = 0.4
_STEPS = (1e-4, 1e-4, 1e-5, 1e-6, 1e-5, 1e-6)
_STEP_SHARE, _STEP_HALF_WIDTH = 0.05, 0.2
_LEAST_RADIUS = 0.05
_SHARP_MM = 0.2
_MOST_BENT = 1.0 / 25.0
_USUAL_BENT = 1.0 / 60.0
_MOST_SLOPE = 8.0
_STEEPEST = 0.995
_AT_ONCE = 256
_TOUCHES, _MOST_STEP, _LEAST_PACE = 3, 5.0, 0.1
_WIDEST = 0.7
_SLOW_MM = 0.02
"""What profiles are off together, over and above the noise of their points."""
_DAMPED, _LESS, _MORE = 1e-2, 0.3, 5.0

MEETING, LEVEL, LEFT, LEFT_BENT, RIGHT, RIGHT_BENT, SQUARED = range(7)


@dataclass(frozen=True, eq=False)
class Fits:
    """Sections fitted to k profiles.

    Attributes
    ----------
    numbers : (k, 7) float
        Where the flanks meet (across, height), slope there and curvature (1/mm, positive: bent up)
        of the left and of the right flank, radius squared (with which misfits grow evenly from
        nought on).
    chi2 : (k,) float
        Sum of squared misfits over the noise.
    smooth_chi2 : (k,) float
        The same for one curve of fourth degree.
    freedom : (k,) float
        How many bins there are beyond the seven numbers.
    error : (k, 7) float
        Standard errors of the numbers.
    turn_error : (k,) float, rad
    misfit : (k,) float, mm
        Root of the mean squared misfit, bins weighted.
    """

    numbers: FloatArray
    chi2: FloatArray
    smooth_chi2: FloatArray
    freedom: FloatArray
    error: FloatArray
    turn_error: FloatArray
    misfit: FloatArray

    def columns(self) -> tuple[FloatArray, ...]:
        """Return all of it, in the order above."""
        return (
            self.numbers,
            self.chi2,
            self.smooth_chi2,
            self.freedom,
            self.error,
            self.turn_error,
            self.misfit,
        )

    def at(self, rows: IntArray) -> "Fits":
        """Return those of some profiles."""
        return Fits(*(column[rows] for column in self.columns()))


@dataclass(frozen=True, eq=False)
class Rounds:
    """The arcs between flanks, (k,) each, seen from where the flanks meet.

    Attributes
    ----------
    centre : (k, 2) float, mm
        Across and up.
    first, last : (k,) float, mm
        Where across the arc begins and ends.
    ridge : (k,) float
        +1 on a ridge, -1 in a valley.
    """

    centre: FloatArray
    first: FloatArray
    last: FloatArray
    ridge: FloatArray


def rounds_of(numbers: FloatArray) -> Rounds:
    """Return the arcs of sections.

    Source: own derivation: the places where an arc of radius r touches the flanks are those at
    which the places r inside them fall together; Newton's rule from the straight flanks' answer.
    """
    slopes, bents = numbers[:, [LEFT, RIGHT]], numbers[:, [LEFT_BENT, RIGHT_BENT]]
    radius = np.sqrt(numbers[:, SQUARED])[:, None]
    ridge = np.where(slopes[:, :1] >= slopes[:, 1:], 1.0, -1.0)
    sine = slopes / np.sqrt(1.0 + slopes * slopes)
    cosine = np.sqrt(1.0 - sine * sine)
    apart = np.maximum(1.0 + (sine * sine[:, ::-1] + cosine * cosine[:, ::-1]), 1e-9)
    at = ridge * radius * ((sine + sine[:, ::-1]) / apart - sine)
    for _ in range(_TOUCHES):
        sine_there = np.clip(sine + bents * at, -_STEEPEST, _STEEPEST)
        cosine_there = np.sqrt(1.0 - sine_there * sine_there)
        height = at * (sine + sine_there) / (cosine + cosine_there)
        centre_x, centre_z = (
            at + ridge * radius * sine_there,
            height - ridge * radius * cosine_there,
        )
        steep = sine_there / cosine_there
        pace = np.maximum(1.0 + ridge * radius * bents, _LEAST_PACE)
        gap_x = centre_x[:, 1] - centre_x[:, 0]
        gap_z = centre_z[:, 1] - centre_z[:, 0]
        lean = steep[:, 0] - steep[:, 1]
        lean = np.where(np.abs(lean) > 1e-6, lean, np.where(lean < 0, -1e-6, 1e-6))
        step = np.stack([gap_z - steep[:, 1] * gap_x, gap_z - steep[:, 0] * gap_x], axis=1)
        at = at + np.clip(step / (lean[:, None] * pace), -_MOST_STEP, _MOST_STEP)
    return Rounds(
        centre=np.stack([centre_x.mean(axis=1), centre_z.mean(axis=1)], axis=1),
        first=at.min(axis=1),
        last=at.max(axis=1),
        ridge=ridge[:, 0],
    )


def tips_of(numbers: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the (k, 2) tips of the rounds, across and up, and the way out there.

    The tip is the place of the round nearest to where the flanks, drawn out, meet: its middle where
    both flanks are bent alike.
    """
    found = rounds_of(numbers)
    slopes = numbers[:, [LEFT, RIGHT]]
    long = np.sqrt(1.0 + slopes * slopes)
    sharp = np.stack([(-slopes / long).sum(axis=1), (1.0 / long).sum(axis=1)], axis=1)
    reach = -found.ridge[:, None] * found.centre  # from the arc's middle to the meeting
    out = np.where(np.linalg.norm(reach, axis=1, keepdims=True) > _SHARP_MM, reach, sharp)
    up = out / np.linalg.norm(out, axis=1, keepdims=True)
    radius = np.sqrt(numbers[:, SQUARED])
    tip = found.centre + (found.ridge * radius)[:, None] * up
    return tip + numbers[:, [MEETING, LEVEL]], up


def heights(numbers: FloatArray, across: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the (k, j) heights of sections across, and their slopes.

    >>> heights(np.array([[0.0, 1.0, 1.0, 0.0, -1.0, 0.0, 0.0]]), np.array([[-2.0, 2.0]]))[0]
    array([[-1., -1.]])
    """
    x, z, left, left_bent, right, right_bent, squared = (column[:, None] for column in numbers.T)
    off = across - x
    on_right = off > 0.0
    steep, bent = np.where(on_right, right, left), np.where(on_right, right_bent, left_bent)
    sine = steep / np.sqrt(1.0 + steep * steep)
    sine_there = np.clip(sine + bent * off, -_STEEPEST, _STEEPEST)
    cosine_there = np.sqrt(1.0 - sine_there * sine_there)
    height = off * (sine + sine_there) / (np.sqrt(1.0 - sine * sine) + cosine_there)
    slope = sine_there / cosine_there
    found = rounds_of(numbers)
    ridge = found.ridge[:, None]
    within = (off > found.first[:, None]) & (off < found.last[:, None])
    aside = off - found.centre[:, :1]
    rise = np.sqrt(np.maximum(squared - aside * aside, 1e-12))
    height = np.where(within, found.centre[:, 1:] + ridge * rise, height)
    slope = np.where(within, -ridge * aside / rise, slope)
    return z + height, slope


def fitted(
    profiles: Profiles,
    reach_mm: float,
    noise_mm: float,
    start: FloatArray | None = None,
    *,
    report: Report = silent,
) -> Fits:
    """Return the sections that misfit profiles least.

    Parameters
    ----------
    profiles : Profiles
    reach_mm : float
        Rounds are no wider than 0.7 of it, either way.
    noise_mm : float
        Of one point, the standard deviation.
    start : (k, 7) float, optional
        Numbers near by, to begin with.
    """
    parts = []
    for first in range(0, max(len(profiles.across), 1), _AT_ONCE):
        report(first / len(profiles.across), "fit the lines")
        rows = np.arange(first, min(first + _AT_ONCE, len(profiles.across)))
        task = _Task(profiles.at(rows), reach_mm, noise_mm)
        parts.append(task.fitted(None if start is None else start[rows]))
    return Fits(*(np.concatenate(c) for c in zip(*(p.columns() for p in parts), strict=True)))


class _Task:
    """Profiles to be fitted, weighted."""

    def __init__(self, profiles: Profiles, reach_mm: float, noise_mm: float) -> None:
        self._x, self._z = profiles.across, profiles.height
        counts = profiles.counts
        error = np.sqrt(noise_mm**2 / np.maximum(counts, 1e-9) + _SLOW_MM**2)
        self._scale = np.where(counts > 0, 1.0 / error, 0.0)
        self._reach = reach_mm

    def _of(self, rows: IntArray) -> "_Task":
        out = copy(self)
        out._x, out._z, out._scale = self._x[rows], self._z[rows], self._scale[rows]
        return out

    def fitted(self, start: FloatArray | None) -> Fits:
        """Return the fits, begun from numbers near by or from straight flanks and many radii."""
        if start is not None:
            return self.told(self.improved(self.held(start), _ROUNDS)[0])
        begun = self.straight_flanks()
        best, least = begun, np.full(len(begun), np.inf)
        for radius in _STARTS:
            if radius > self._reach:
                break
            tried = begun.copy()
            tried[:, SQUARED] = radius**2
            tried, chi2 = self.improved(self.held(tried), _FIRST_ROUNDS)
            better = chi2 < least
            best = np.where(better[:, None], tried, best)
            least = np.where(better, chi2, least)
        return self.told(self.improved(best, _ROUNDS)[0])

    def straight_flanks(self) -> FloatArray:
        """Return straight flanks through the outer part of each side, without a round."""
        out = np.zeros((len(self._x), 7))
        lines = []
        for side in (-1.0, 1.0):
            weight = self._scale**2 * (side * self._x > _OUTER_SHARE * self._reach)
            total = np.maximum(weight.sum(axis=1), 1e-9)
            x = (weight * self._x).sum(axis=1) / total
            z = (weight * self._z).sum(axis=1) / total
            spread = (weight * (self._x - x[:, None]) ** 2).sum(axis=1) + 1e-9
            slope = (weight * (self._x - x[:, None]) * (self._z - z[:, None])).sum(axis=1) / spread
            lines.append((z - slope * x, slope))
        (a, left), (b, right) = lines
        apart = left - right
        apart = np.where(np.abs(apart) > 0.02, apart, np.where(apart < 0, -0.02, 0.02))
        at = np.clip((b - a) / apart, -self._reach / 3.0, self._reach / 3.0)
        out[:, MEETING], out[:, LEVEL] = at, (a + left * at + b + right * at) / 2.0
        out[:, LEFT], out[:, RIGHT] = left, right
        return self.held(out)

    def held(self, numbers: FloatArray) -> FloatArray:
        """Return the numbers kept within what sections may be."""
        out = numbers.copy()
        out[:, MEETING] = np.clip(out[:, MEETING], -self._reach / 2.0, self._reach / 2.0)
        for column in (LEFT, RIGHT):
            out[:, column] = np.clip(out[:, column], -_MOST_SLOPE, _MOST_SLOPE)
        for column in (LEFT_BENT, RIGHT_BENT):
            out[:, column] = np.clip(out[:, column], -_MOST_BENT, _MOST_BENT)
        half = np.abs(np.arctan(out[:, LEFT]) - np.arctan(out[:, RIGHT])) / 2.0
        widest = _WIDEST * self._reach / np.maximum(np.sin(half), 1e-3)
        most = np.minimum(widest, _MOST_RADIUS) ** 2
        out[:, SQUARED] = np.clip(out[:, SQUARED], _LEAST_RADIUS**2, most)
        return out

    def residuals(self, numbers: FloatArray) -> FloatArray:
        """Return (k, j + 2) misfits square to the section over their errors; bends held small."""
        height, slope = heights(numbers, self._x)
        misfit = (self._z - height) / np.sqrt(1.0 + slope * slope) * self._scale
        bends = numbers[:, [LEFT_BENT, RIGHT_BENT]] / _USUAL_BENT
        return np.concatenate([misfit, bends], axis=1)

    def jacobian(self, numbers: FloatArray, at: FloatArray) -> FloatArray:
        """Return (k, j + 2, 7) changes of misfits with each number."""
        count = len(numbers)
        steps = np.empty((7, count))
        steps[:SQUARED] = np.array(_STEPS)[:, None]
        half = np.abs(np.arctan(numbers[:, LEFT]) - np.arctan(numbers[:, RIGHT])) / 2.0
        least = _STEP_HALF_WIDTH / np.maximum(np.sin(half), 0.05)  # a round that bins show
        steps[SQUARED] = np.maximum(_STEP_SHARE * numbers[:, SQUARED], least**2)
        moved = np.repeat(numbers[None], 7, axis=0)
        moved[np.arange(7), :, np.arange(7)] += steps
        every = self._of(np.tile(np.arange(count), 7)).residuals(moved.reshape(-1, 7))
        change = every.reshape(7, count, -1) - at
        return np.asarray((change / steps[:, :, None]).transpose(1, 2, 0))

    def improved(self, numbers: FloatArray, rounds: int) -> tuple[FloatArray, FloatArray]:
        """Return numbers and sums of squares after damped least-squares steps."""
        numbers = numbers.copy()
        chi2 = (self.residuals(numbers) ** 2).sum(axis=1)
        damp = np.full(len(numbers), _DAMPED)
        rows = np.arange(len(numbers))
        for _ in range(rounds):
            task = self._of(rows)
            tried = task.held(numbers[rows] + task.step(numbers[rows], damp[rows]))
            sums = (task.residuals(tried) ** 2).sum(axis=1)
            better = sums < chi2[rows]
            gain = chi2[rows] - sums
            numbers[rows[better]] = tried[better]
            chi2[rows[better]] = sums[better]
            damp[rows] = np.clip(np.where(better, _LESS, _MORE) * damp[rows], 1e-6, 1e6)
            rows = rows[(gain < 0.0) & (damp[rows] < 1e5) | (gain > _SETTLED * sums)]
            if not len(rows):
                break
        return numbers, chi2

    def step(self, numbers: FloatArray, damp: FloatArray) -> FloatArray:
        """Return (k, 7) damped least-squares steps."""
        here = self.residuals(numbers)
        slopes = self.jacobian(numbers, here)
        matrix = slopes.transpose(0, 2, 1) @ slopes
        wanted = np.einsum("kjp,kj->kp", slopes, here)
        diagonal = np.einsum("kpp->kp", matrix)
        held = matrix + (damp[:, None] * diagonal + 1e-9)[:, :, None] * np.eye(7)
        return np.asarray(np.linalg.solve(held, -wanted[..., None])[..., 0])

    def told(self, numbers: FloatArray) -> Fits:
        """Return the fits with their errors."""
        here = self.residuals(numbers)
        slopes = self.jacobian(numbers, here)
        matrix = slopes.transpose(0, 2, 1) @ slopes
        diagonal = np.sqrt(np.maximum(np.einsum("kpp->kp", matrix), 1e-12))
        scaled = matrix / (diagonal[:, :, None] * diagonal[:, None, :]) + 1e-9 * np.eye(7)
        spread = np.linalg.inv(scaled) / (diagonal[:, :, None] * diagonal[:, None, :])
        to_turn = np.zeros_like(numbers)
        to_turn[:, LEFT] = 1.0 / (1.0 + numbers[:, LEFT] ** 2)
        to_turn[:, RIGHT] = -1.0 / (1.0 + numbers[:, RIGHT] ** 2)
        chi2 = (here[:, :-2] ** 2).sum(axis=1)
        turn_error = np.sqrt(np.einsum("kp,kpq,kq->k", to_turn, spread, to_turn))
        return Fits(
            numbers=numbers,
            chi2=chi2,
            smooth_chi2=self._smooth_chi2(),
            freedom=(self._scale > 0).sum(axis=1) - 7.0,
            error=np.sqrt(np.maximum(np.einsum("kpp->kp", spread), 0.0)),
            turn_error=turn_error,
            misfit=np.sqrt(chi2 / np.maximum((self._scale**2).sum(axis=1), 1e-12)),
        )

    def _smooth_chi2(self) -> FloatArray:
        x = self._x / self._reach
        terms = np.stack([x**power for power in range(5)], axis=2) * self._scale[..., None]
        wanted = self._z * self._scale
        matrix = terms.transpose(0, 2, 1) @ terms
        matrix += 1e-9 * np.trace(matrix, axis1=1, axis2=2)[:, None, None] * np.eye(
            5
        ) + 1e-12 * np.eye(5)
        fit = np.linalg.solve(matrix, np.einsum("kjp,kj->kp", terms, wanted)[..., None])
        return np.asarray(((wanted - (terms @ fit)[..., 0]) ** 2).sum(axis=1))

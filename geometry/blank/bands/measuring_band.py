"""The measuring band: how far the net line may be off because the panel was measured with errors.

What the errors are belongs to `measuring_errors`, how those of the formed panel reach the net line
to `carrying`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from geometry.arrays import FloatArray, IntArray, locked
from geometry.blank.bands.carrying import CarriedErrors
from geometry.blank.bands.measuring_errors import Kind, MeasuringErrors, VertexErrors
from geometry.blank.bands.model_band import check_converged
from geometry.blank.bands.net_line import NetLine
from geometry.blank.flat_panel import FlatPanel
from geometry.progress import Report, silent

SURE = 0.95
SURE_SD = 1.959963984540054
"""Standard deviations either side that hold 95 in 100 of a normal distribution."""

SPOT_MM = 20.0
MOST_SPOTS = 160
CORNER_RAD = np.deg2rad(20.0)

_STAGE = "how sure the size is"


@dataclass(frozen=True, eq=False)
class MeasuringBand:
    """How far off the net line may be, at each rim vertex and on the mean of the rim.

    Attributes
    ----------
    sd : (k,) float, mm
        Standard deviation of how far outward the net line stands of the true one.
    shift : (k,) float, mm
        Mean of the same: above 0, roughness makes the blank too big.
    plus_minus : (k,) float, mm
        The true net line lies this near 95 times in 100.
    average_sd, average_shift, average_plus_minus : float, mm
        The same for the mean offset along the rim.
    sd_of_kind : mapping of Kind to (k,) float, mm
        What each kind of error adds, squared, to the square of `sd`; those that add nothing are
        left out.
    """

    sd: FloatArray
    shift: FloatArray
    plus_minus: FloatArray
    average_sd: float
    average_shift: float
    average_plus_minus: float
    sd_of_kind: Mapping[Kind, FloatArray]

    @property
    def reach_mm(self) -> float:
        """Return the largest `plus_minus` along the rim."""
        return float(self.plus_minus.max())

    @property
    def reasons(self) -> tuple[tuple[Kind, float], ...]:
        """Return the kinds of error at the least sure place, mm each alone, largest first."""
        place = int(np.argmax(self.plus_minus))
        alone = ((kind, SURE_SD * float(sd[place])) for kind, sd in self.sd_of_kind.items())
        return tuple(sorted(alone, key=lambda reason: -reason[1]))


def measuring_band(
    flat: FlatPanel, errors: MeasuringErrors, *, report: Report = silent
) -> MeasuringBand:
    """Return how far off the net line may be with these errors.

    Parameters
    ----------
    flat : FlatPanel
        Converged.
    errors : MeasuringErrors
    report : Report

    Raises
    ------
    ValueError
        The blank at hand is not converged.

    Spots every 20 mm of the rim, at corners and where the rim's error jumps are worked out; in
    between the variance runs straight. Source: own derivation, in `carrying`; checked
    against a thousand simulated scans of three panels.
    """
    check_converged(flat)
    report(0.0, _STAGE)
    line = NetLine.of(flat.flat_vertices, flat.rim)
    of_vertex = errors.of_every_vertex(flat)
    carried = CarriedErrors(flat, of_vertex)
    report(0.3, _STAGE)
    variances = _first_order(line, carried, of_vertex)
    report(0.7, _STAGE)
    shift, rough = carried.shift(), carried.rough_offsets()
    report(0.9, _STAGE)
    shift = np.append(shift, line.weights @ shift)
    rough = np.vstack([rough, line.weights @ rough])
    variances["points"] = variances["points"] + rough.var(axis=1, ddof=1)
    sizes = errors.scale * (line.outward * line.from_middle).sum(axis=1)
    variances["tapes"] = np.square(np.append(sizes, line.weights @ sizes))
    sd = np.sqrt(np.sum(list(variances.values()), axis=0))
    both = half_width(sd, shift)
    report(1.0, _STAGE)
    return MeasuringBand(
        sd=locked(sd[:-1]),
        shift=locked(shift[:-1]),
        plus_minus=locked(both[:-1]),
        average_sd=float(sd[-1]),
        average_shift=float(shift[-1]),
        average_plus_minus=float(both[-1]),
        sd_of_kind={
            kind: locked(np.sqrt(variance[:-1]))
            for kind, variance in variances.items()
            if variance.any()
        },
    )


def _first_order(
    line: NetLine, carried: CarriedErrors, errors: VertexErrors
) -> dict[Kind, FloatArray]:
    """Return (k + 1,), mm2, by kind: variance at each rim vertex, then of the mean."""
    spots = chosen_spots(line, np.hypot(errors.rim_mm, errors.rim_shift_mm))
    parts = np.zeros((len(line.points), len(spots) + 1))
    parts[spots, np.arange(len(spots))] = 1.0
    parts[:, -1] = line.weights
    arc, at = line.arc_mm, line.arc_mm[spots]
    return {
        kind: np.append(np.interp(arc, at, found[:-1], period=line.length_mm), found[-1])
        for kind, found in carried.variances(parts).items()
    }


def half_width(sd: FloatArray, mean: FloatArray) -> FloatArray:
    """Return the half width, about 0, that holds 95 in 100 of normal distributions off their mean.

    Parameters
    ----------
    sd, mean : (k,) float

    >>> half_width(np.array([1.0, 0.0]), np.array([0.0, -0.3])).round(6).tolist()
    [1.959964, 0.3]
    """
    off = np.abs(mean)
    low, high = off.copy(), off + SURE_SD * sd
    safe = np.where(sd > 0.0, sd, 1.0)
    for _ in range(50):
        middle = (low + high) / 2.0
        held = ndtr((middle - off) / safe) - ndtr((-middle - off) / safe)
        low, high = np.where(held < SURE, middle, low), np.where(held < SURE, high, middle)
    return np.asarray(np.where(sd > 0.0, high, off))


def chosen_spots(line: NetLine, rim_mm: FloatArray) -> IntArray:
    """Return the rim places, rising, at which to work the variance out; all of a short rim.

    Parameters
    ----------
    line : NetLine
    rim_mm : (k,) float
        The rim's own standard error, whose jumps get a spot on either side.
    """
    k = len(line.points)
    if k <= MOST_SPOTS // 2:
        return np.arange(k)
    spacing = max(SPOT_MM, line.length_mm / MOST_SPOTS)
    chosen = np.zeros(k, bool)
    chosen[np.unique((line.arc_mm // spacing).astype(np.int64), return_index=True)[1]] = True
    turned = np.linalg.norm(line.outward, axis=1) < np.cos(CORNER_RAD / 2.0)
    following = np.roll(rim_mm, -1)
    jump = np.abs(rim_mm - following) > 0.2 * np.maximum(rim_mm, following)
    wanted = turned | jump | np.roll(jump, 1)
    chosen |= wanted | np.roll(turned, 1) | np.roll(turned, -1)
    return np.flatnonzero(chosen)

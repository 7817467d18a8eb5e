"""Where the stations stand: every so often, closer where the tank bends tightly, at its peaks."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.gauges.gauge_faults import StationOffTankError, StationSpacingError
from geometry.gauges.gauged_skin import GaugedSkin

Why = Literal["every", "tight", "widest", "highest", "asked"]
"""Why a station stands where it does."""

LEAST_SPACING_MM = 10.0
"""Stations nearer to each other than this tell nothing new. Common practice, no source."""

LET_OUT_MM = 6.0
"""Between two stations the tank's outline leaves the straight line by no more, or a station is put
between: 75 mm then suits curves of R 117 and flatter. Own choice."""

_END_MM = 8.0
"""So near to an end a plane no longer cuts across the tank."""

_SAME_SHARE = 0.25
"""A regular station so near to a peak, as a share of the spacing, moves to it."""

_STEP_MM = 5.0


@dataclass(frozen=True)
class GaugeStation:
    """One station.

    Attributes
    ----------
    number : int
        From 1, from the front.
    at_mm : float
        Where it stands, ahead of the origin of the tank's axes.
    back_mm : float
        Back from the front end.
    why : str
    """

    number: int
    at_mm: float
    back_mm: float
    why: Why


@dataclass(frozen=True, eq=False)
class Girthing:
    """How wide and how high the skin is along its length.

    Attributes
    ----------
    at_mm : (k,) float
        Evenly, from the rear ahead.
    left, right : (k, 2) float, mm
        The widest place on either hand: left of the centre plane, and up.
    top : (k,) float, mm
        The highest place.
    """

    at_mm: FloatArray
    left: FloatArray
    right: FloatArray
    top: FloatArray

    def __post_init__(self) -> None:
        for each in (self.at_mm, self.left, self.right, self.top):
            locked(each)

    @property
    def widest_mm(self) -> float:
        """Where the tank is widest."""
        return _peak(self.at_mm, self.left[:, 0] - self.right[:, 0])

    @property
    def highest_mm(self) -> float:
        """Where it is highest."""
        return _peak(self.at_mm, self.top)


def girthing(skin: GaugedSkin) -> Girthing:
    """Return how wide and high the skin is, from sections every few mm."""
    rear, front = skin.front_mm - skin.length_mm, skin.front_mm
    count = max(int(skin.length_mm / _STEP_MM), 8)
    rows = []
    for at in np.linspace(rear, front, count + 1)[1:-1].tolist():
        cut = skin.cut(0, at)
        if not cut.lines:
            continue
        points = np.concatenate(cut.lines)
        rows.append((at, *_widest(points, -1.0), *_widest(points, 1.0), points[:, 1].max()))
    table = np.array(rows)
    return Girthing(
        table[:, 0].copy(), table[:, 1:3].copy(), table[:, 3:5].copy(), table[:, 5].copy()
    )


_NEAR_MM = 1.0


def _widest(points: FloatArray, side: float) -> tuple[float, float]:
    """Return how far left a section reaches at its widest on one hand, and at which height.

    The height is the top of the parabola through all places within a millimetre of the widest:
    one place alone would wander with the scan's noise.
    """
    out = side * points[:, 0]
    most = float(out.max())
    near = out > most - _NEAR_MM
    height = points[near, 1]
    at = float(points[int(out.argmax()), 1])
    if len(height) >= 5 and np.ptp(height) > 1.0:
        middle, half = float(height.mean()), float(np.ptp(height)) / 2.0
        bend, slope, _ = np.polyfit((height - middle) / half, out[near], 2)
        if bend < 0.0:
            at = middle + half * float(np.clip(-slope / (2.0 * bend), -1.0, 1.0))
    return -side * most, at


def _peak(at: FloatArray, size: FloatArray) -> float:
    """Return where a size is largest, between the places it was taken at."""
    k = int(size.argmax())
    if not 0 < k < len(size) - 1:
        return float(at[k])
    bend, slope, _ = np.polyfit(at[k - 1 : k + 2] - at[k], size[k - 1 : k + 2], 2)
    return float(at[k] - slope / (2.0 * bend)) if bend < 0.0 else float(at[k])


def stations_of(
    skin: GaugedSkin,
    girth: Girthing,
    *,
    spacing_mm: float = 75.0,
    asked_mm: Sequence[float] = (),
    only_asked: bool = False,
) -> tuple[GaugeStation, ...]:
    """Return the stations, numbered from the front.

    Parameters
    ----------
    skin : GaugedSkin
    girth : Girthing
        Its own.
    spacing_mm : float
        From station to station where the tank bends little, counted back from the front end.
    asked_mm : sequence of float
        The maker's own, back from the front end.
    only_asked : bool
        Whether those are all.

    Raises
    ------
    StationOffTankError, StationSpacingError
    """
    for back in asked_mm:
        if not _END_MM / 4.0 <= back <= skin.length_mm - _END_MM / 4.0:
            raise StationOffTankError(float(back), skin.length_mm)
    found: dict[float, Why] = {skin.front_mm - float(back): "asked" for back in asked_mm}
    if not only_asked or not found:
        if not LEAST_SPACING_MM <= spacing_mm <= skin.length_mm:
            raise StationSpacingError(spacing_mm, LEAST_SPACING_MM, skin.length_mm)
        for at, why in _by_rule(skin, girth, spacing_mm).items():
            if all(abs(at - own) > _SAME_SHARE * LEAST_SPACING_MM for own in found):
                found[at] = why
    ordered = sorted(found.items(), reverse=True)
    return tuple(
        GaugeStation(number, at, skin.front_mm - at, why)
        for number, (at, why) in enumerate(ordered, start=1)
    )


def _by_rule(skin: GaugedSkin, girth: Girthing, spacing_mm: float) -> dict[float, Why]:
    """Return where stations stand by rule, and why."""
    count = int((skin.length_mm - _END_MM) / spacing_mm)
    backs = spacing_mm * np.arange(1, count + 1)
    found: dict[float, Why] = {
        float(skin.front_mm - back): "every" for back in backs.tolist() if back >= _END_MM
    }
    peaks: tuple[tuple[float, Why], ...] = (
        (girth.widest_mm, "widest"),
        (girth.highest_mm, "highest"),
    )
    for peak, why in peaks:
        near = [
            at
            for at, kind in found.items()
            if abs(at - peak) <= _SAME_SHARE * spacing_mm and kind == "every"
        ]
        for at in near:
            del found[at]
        if all(abs(at - peak) > LEAST_SPACING_MM for at in found):
            found[peak] = why
    for at in _where_tight(skin, girth, tuple(found)):
        found[at] = "tight"
    return found


def _where_tight(skin: GaugedSkin, girth: Girthing, at_mm: Sequence[float]) -> list[float]:
    """Return further stations where an outline leaves the straight line between two too far."""
    rear, front = skin.front_mm - skin.length_mm + _END_MM, skin.front_mm - _END_MM
    outlines = np.stack([girth.left[:, 0], girth.right[:, 0], girth.top], axis=1)
    known = sorted({rear, *at_mm, front})
    found: list[float] = []
    open_gaps = list(pairwise(known))
    while open_gaps:
        low, high = open_gaps.pop()
        middle = (low + high) / 2.0
        within = (girth.at_mm > low) & (girth.at_mm < high)
        if (high - low) < 2.0 * LEAST_SPACING_MM or not within.any():
            continue
        if _leaves(girth.at_mm, outlines, within, low, high) > LET_OUT_MM:
            found.append(middle)
            open_gaps += [(low, middle), (middle, high)]
    return found


def _leaves(
    at: FloatArray, outlines: FloatArray, within: BoolArray, low: float, high: float
) -> float:
    """Return how far outlines (k, 3) leave their chords between two places."""
    share = ((at[within] - low) / (high - low))[:, None]
    ends = [np.array([np.interp(x, at, each) for each in outlines.T]) for x in (low, high)]
    off = outlines[within] - ((1.0 - share) * ends[0] + share * ends[1])
    slope = (ends[1] - ends[0]) / (high - low)
    return float(np.abs(off / np.sqrt(1.0 + slope**2)).max())


def widest_line(girth: Girthing, hand: str) -> FloatArray:
    """Return the (k, 3) line of the widest places of one hand, its height calmed, mm."""
    side = girth.left if hand == "left" else girth.right
    height = side[:, 1]
    if len(height) >= 5:
        padded = np.concatenate([height[:1], height[:1], height, height[-1:], height[-1:]])
        height = np.convolve(padded, np.ones(5) / 5.0, mode="valid")
    return np.stack([girth.at_mm, side[:, 0], height], axis=1)

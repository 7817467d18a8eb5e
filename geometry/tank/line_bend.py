"""How a line bends along its way, from points that scatter: as little calmed as its noise asks.

A parabola is fitted over a stretch of the line to either side of each place; what it says of a
circle is known, and undone, so that circles come out exact however long the stretch. The stretch
grows as long as wider fits agree with all narrower ones within what scatter explains.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.polyline import lengths_along

_LEAST_POINTS = 7
_LEAST_REACH_MM = 4.0
_MOST_REACH_MM = 60.0
_GROWTH = 1.35
_AGREES = 3.5
"""A wider fit stands while it lies within so many standard errors of every narrower one."""

_STANDS_OUT = 4.0
"""A bend of fewer standard errors than this is none: straight stays straight."""

_BENDS_1MM = 1e-5
"""Less bend than this, a radius of 100 m, is none."""

_ROUNDS = 4
_TURN = 2.4
"""Most that a line may turn within one fit, rad: beyond, a circle's parabola says too little."""


class LineTooShortToBendError(GeometryError):
    """A line too short, or of too few points, for its bend to be told.

    Attributes
    ----------
    length_mm, least_mm : float
    """

    def __init__(self, length_mm: float, least_mm: float) -> None:
        self.length_mm, self.least_mm = length_mm, least_mm
        super().__init__(f"a line of {length_mm:.3g} mm, at least {least_mm:.3g} mm needed")


@dataclass(frozen=True, eq=False)
class LineBend:
    """How a line runs and bends at some places along it.

    Attributes
    ----------
    along : (k,) float, mm
        How far along the line they are.
    places : (k, 3) float, mm
    tangents : (k, 3) float
        Unit, the way the line runs.
    bend : (k, 3) float, 1/mm
        Towards the middle of the curve, 1 / radius long; nought where it does not stand out of
        the scatter.
    spread : (k,) float, 1/mm
        Standard error of its length.
    reach_mm : (k,) float
        How far to either side the line was looked at.
    """

    along: FloatArray
    places: FloatArray
    tangents: FloatArray
    bend: FloatArray
    spread: FloatArray
    reach_mm: FloatArray

    def __post_init__(self) -> None:
        for array in (
            self.along,
            self.places,
            self.tangents,
            self.bend,
            self.spread,
            self.reach_mm,
        ):
            locked(array)


class BentLine:
    """A line ready to be asked how it bends.

    Parameters
    ----------
    points : (k, 3) float, mm
        In order; a closed line does not repeat its first.
    is_closed : bool
    noise_mm : float
        Standard error of a point, where it is known; at least what the points show is taken.
    apart_mm : float
        How far apart two points' errors are each other's no more; 0 where each has its own.
    calm_mm : float
        The line is looked at so far to either side at least: shorter waves are no shape. Held to
        a quarter of its length.
    """

    def __init__(
        self,
        points: FloatArray,
        *,
        is_closed: bool,
        noise_mm: float = 0.0,
        apart_mm: float = 0.0,
        calm_mm: float = 0.0,
    ) -> None:
        keep = np.append(True, np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-9)
        self._points, self.is_closed = points[keep], is_closed
        self._along, rough = _chords(self._points, is_closed)
        if len(self._points) < _LEAST_POINTS:
            raise LineTooShortToBendError(rough, _LEAST_REACH_MM)
        spacing = rough / len(self._points)
        self._least = max((_LEAST_POINTS // 2 + 0.1) * spacing, _LEAST_REACH_MM)
        if rough < 2.0 * self._least:
            raise LineTooShortToBendError(rough, 2.0 * self._least)
        self._least = max(self._least, min(calm_mm, rough / 4.0))
        self.length_mm, self.noise_mm, self._per_error = rough, 0.0, 1.0
        off = np.zeros(len(self._points))
        for _ in range(2):  # lengths are taken along the calmed line: scatter makes them longer
            fits = [self._fit(at, self._least) for at in self._along]
            off = np.array([fit.rms for fit in fits])
            self._along, self.length_mm = _chords(np.array([f.place for f in fits]), is_closed)
        self.noise_mm = max(noise_mm, float(np.median(off)), 1e-6)
        self._per_error = max(1.0, apart_mm / spacing)

    def at(self, along: FloatArray) -> LineBend:
        """Return how the line bends at places (k,) along it, mm from its first point."""
        wrapped = np.mod(along, self.length_mm) if self.is_closed else along
        found = [self._bend_at(float(each)) for each in wrapped]
        return LineBend(
            np.asarray(along, float),
            np.array([fit.place for fit in found]),
            np.array([fit.tangent for fit in found]),
            np.array([fit.bend for fit in found]),
            np.array([fit.spread for fit in found]),
            np.array([fit.reach for fit in found]),
        )

    def along_of(self, point: int) -> float:
        """Return how far along the line one of its points is."""
        return float(self._along[point])

    def _bend_at(self, along: float) -> "_Fit":
        """Return the widest fit that agrees with all narrower ones."""
        best = self._fit(along, self._least)
        narrower, reach = [best], self._least * _GROWTH
        while reach <= min(_MOST_REACH_MM, self.length_mm / 2.0):
            fit = self._fit(along, reach)
            if np.linalg.norm(fit.bend) * fit.span > _TURN:
                break
            apart = [np.linalg.norm(fit.bend - each.bend) for each in narrower]
            allowed = [_AGREES * float(np.hypot(each.spread, fit.spread)) for each in narrower]
            if any(a > b for a, b in zip(apart, allowed, strict=True)):
                break
            best = fit
            narrower.append(fit)
            reach *= _GROWTH
        size = float(np.linalg.norm(best.bend))
        if size < max(_STANDS_OUT * best.spread, _BENDS_1MM):
            return best.straightened()
        return best

    def _fit(self, along: float, reach: float) -> "_Fit":
        """Return the parabola through the points within reach."""
        near, step = self._near(along, reach)
        noise = self.noise_mm * float(np.sqrt(self._per_error))
        return _fitted(self._points[near], step, noise, reach)

    def _near(self, along: float, reach: float) -> tuple[IntArray, FloatArray]:
        """Return the points within reach, at least seven, and how far along from there each is."""
        step = self._along - along
        if self.is_closed:
            step = (step + self.length_mm / 2.0) % self.length_mm - self.length_mm / 2.0
        near = np.flatnonzero(np.abs(step) <= reach)
        if len(near) < _LEAST_POINTS:
            near = np.argsort(np.abs(step), kind="stable")[:_LEAST_POINTS]
        return near, step[near]


@dataclass(frozen=True, eq=False)
class _Fit:
    place: FloatArray
    tangent: FloatArray
    bend: FloatArray
    spread: float
    reach: float
    span: float
    rms: float

    def straightened(self) -> "_Fit":
        return _Fit(
            self.place,
            self.tangent,
            np.zeros(3),
            self.spread,
            self.reach,
            self.span,
            self.rms,
        )


def _chords(points: FloatArray, is_closed: bool) -> tuple[FloatArray, float]:
    """Return how far along a line its points are, and how long it is."""
    ring = np.concatenate([points, points[:1]]) if is_closed else points
    along = lengths_along(ring)
    return along[: len(points)], float(along[-1])


def _fitted(points: FloatArray, step: FloatArray, noise: float, reach: float) -> _Fit:
    design = np.stack([np.ones_like(step), step, step * step / 2.0], axis=1)
    inverse = np.linalg.pinv(design)
    place, slope, second = inverse @ points
    off = points - design @ np.stack([place, slope, second])
    free = max(2.0 * (len(step) - 3), 1.0)  # two ways across the line
    rms = float(np.sqrt((off * off).sum() / free))
    size = float(np.linalg.norm(slope))
    tangent = slope / size
    bend = (second - (second @ tangent) * tangent) / size**2
    spread = noise * float(np.linalg.norm(inverse[2]))
    place, bend = _as_circle(place, tangent, bend, step, inverse)
    return _Fit(place, tangent, bend, spread, reach, float(np.ptp(step)), rms)


def _as_circle(
    place: FloatArray, tangent: FloatArray, bend: FloatArray, step: FloatArray, inverse: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return place and bend of the circle whose parabola this is."""
    size = float(np.linalg.norm(bend))
    if size * np.ptp(step) < 1e-6:
        return place, bend
    curve, off = size, np.zeros(2)
    for _ in range(_ROUNDS):
        circle = np.stack([np.sin(curve * step), 1.0 - np.cos(curve * step)], axis=1) / curve
        off, slope, second = inverse @ circle
        length = float(np.linalg.norm(slope))
        along = slope / length
        said = float(np.linalg.norm(second - (second @ along) * along)) / length**2
        if said < 1e-12 or curve * np.ptp(step) > np.pi:
            break
        curve = min(curve * size / said, np.pi / float(np.ptp(step)))
    inward = bend / size
    return place - off[0] * tangent - off[1] * inward, inward * curve

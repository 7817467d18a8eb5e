"""Where a body that turns about an axis comes nearest, of all angles it turns through.

Nothing is left out between angles that are tried: no place of a body comes nearer faster than it
moves. What a gap is measured to is the caller's affair.
"""

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import IntArray
from geometry.comparison.steering import Steering
from geometry.mesh import TriMesh
from geometry.progress import Report, silent

GapOf = Callable[[TriMesh], float]
"""How near a body comes, mm, 0 where it touches; changes by no more than the body is moved."""

_WITHIN_MM = 0.15
_RINGS = 8
_RING_SHARE = 0.7
"""Each ring reaches this far out of the next; what is left within the last is one with it."""

_LEAST_SHARE = 0.02
"""Of an interval, that either part of it keeps where it is parted."""

_FIRST_STEP_RAD = np.radians(10.0)


@dataclass(frozen=True)
class Turned:
    """An angle, and what was measured there.

    Attributes
    ----------
    angle_rad : float
    value_mm : float
    """

    angle_rad: float
    value_mm: float


def nearest_turn(
    steering: Steering,
    body: TriMesh,
    gap_of: GapOf,
    *,
    known: Sequence[Turned] = (),
    within_mm: float = _WITHIN_MM,
    report: Report = silent,
) -> Turned:
    """Return where between the locks a body comes nearest: nowhere nearer by more than asked.

    Parameters
    ----------
    steering : Steering
    body : TriMesh
        As it stands straight ahead.
    gap_of : GapOf
    known : sequence of Turned
        Angles from lock to lock at which its gap is known already, both locks among them; where
        there are none it is measured at the locks and straight ahead.
    within_mm : float
        How much nearer it may come elsewhere, over nothing.
    report : Report

    Source: [shubert1972] on each ring of the body about the axis, whose slope is its radius:
    between angles a and b the gap is (gap(a) + gap(b) - radius (b - a)) / 2 at least.

    >>> from geometry.comparison.bodies import round_bar
    >>> axis = Steering(np.zeros(3), np.array([0.0, 0, 9]), 0.5)
    >>> bar = round_bar(np.array([90.0, 0, 0]), np.array([99.0, 0, 0]), 2.0)
    >>> found = nearest_turn(axis, bar, lambda at: abs(20.0 - float(at.vertices[:, 1].mean())))
    >>> bool(abs(94.5 * np.sin(found.angle_rad) - 20.0) < 0.16)
    True
    """
    if not known:
        lock = steering.lock_rad
        known = [
            Turned(angle, gap_of(steering.turned(body, angle))) for angle in (-lock, 0.0, lock)
        ]
    search = _Search(steering, gap_of, _rings(steering, body), known)
    while search.best.value_mm > 0.0 and search.least_mm < search.best.value_mm - within_mm:
        report(search.done, "turning the bars")
        search.part()
    report(1.0, "turning the bars")
    return search.best


def deepest_turn(
    steering: Steering,
    body: TriMesh,
    reach_of: GapOf,
    start_rad: float,
    *,
    within_mm: float = 0.2,
    report: Report = silent,
) -> Turned:
    """Return where a body that goes through a skin reaches deepest, up the slope from the best.

    Tried every 10 degrees and at `start_rad`, then to either side of the deepest by half as much
    each time, until no place moves by more than `within_mm`.
    """
    angles = [*steering.angles(_FIRST_STEP_RAD), start_rad]
    tried: list[Turned] = []
    for number, angle in enumerate(angles):
        report(0.5 * number / len(angles), "turning the bars")
        tried.append(Turned(angle, reach_of(steering.turned(body, angle))))
    best = max(tried, key=lambda each: each.value_mm)
    radius = float(steering.distances(body.vertices).max())
    step = _FIRST_STEP_RAD / 2.0
    while radius * step > within_mm / 2.0:
        report(0.75, "turning the bars")
        for angle in (best.angle_rad - step, best.angle_rad + step):
            if abs(angle) <= steering.lock_rad:
                here = Turned(angle, reach_of(steering.turned(body, angle)))
                best = max(best, here, key=lambda each: each.value_mm)
        step /= 2.0
    report(1.0, "turning the bars")
    return best


@dataclass(frozen=True, eq=False)
class _Ring:
    """A body's faces that lie about as far from the axis, and how far the farthest reaches."""

    body: TriMesh
    radius_mm: float


def _rings(steering: Steering, body: TriMesh) -> list[_Ring]:
    """Return a body parted by how far its faces reach from the axis."""
    far = steering.distances(body.vertices)[body.faces].max(axis=1)
    widest = max(float(far.max()), 1e-6)
    power = np.log(np.maximum(far / widest, 1e-9)) / np.log(_RING_SHARE)
    number = np.minimum(power.astype(np.int64), _RINGS - 1)
    return [_ring(body, far[number == k].max(), number == k) for k in np.unique(number)]


def _ring(body: TriMesh, radius: float, of_face: IntArray) -> _Ring:
    used, faces = np.unique(body.faces[of_face], return_inverse=True)
    return _Ring(TriMesh(body.vertices[used], faces.reshape(-1, 3)), float(radius))


@dataclass(frozen=True, order=True)
class _Interval:
    """Angles between two that were tried, the least its ring's gap can be there first."""

    least_mm: float
    number: int
    ring: int
    start: Turned
    end: Turned


class _Search:
    """The least gap so far, and all intervals with what they may still hide."""

    def __init__(
        self, steering: Steering, gap_of: GapOf, rings: list[_Ring], known: Sequence[Turned]
    ) -> None:
        """Begin with the whole body's gaps: none of its rings comes nearer there."""
        self._steering, self._gap_of, self._rings = steering, gap_of, rings
        self._open: list[_Interval] = []
        self._count = 0
        self.best = min(known, key=lambda each: each.value_mm)
        for start, end in pairwise(sorted(known, key=lambda each: each.angle_rad)):
            for ring in range(len(rings)):
                self._add(ring, start, end)

    @property
    def least_mm(self) -> float:
        """No ring comes nearer than this."""
        return float(self._open[0].least_mm)

    @property
    def done(self) -> float:
        """How far the search is, as it feels: half of what is left by every 30 trials."""
        return float(1.0 - 0.5 ** (self._count / 30.0))

    def part(self) -> None:
        """Try the angle at which the least promising bound would be met, and part there."""
        each = heapq.heappop(self._open)
        start, end, radius = each.start, each.end, self._rings[each.ring].radius_mm
        width = end.angle_rad - start.angle_rad
        share = 0.5 + (start.value_mm - end.value_mm) / (2.0 * radius * width)
        share = float(np.clip(share, _LEAST_SHARE, 1.0 - _LEAST_SHARE))
        here = self._tried(each.ring, start.angle_rad + share * width)
        self._add(each.ring, start, here)
        self._add(each.ring, here, end)

    def _tried(self, ring: int, angle: float) -> Turned:
        here = Turned(
            float(angle), self._gap_of(self._steering.turned(self._rings[ring].body, angle))
        )
        if here.value_mm < self.best.value_mm:
            self.best = here
        return here

    def _add(self, ring: int, start: Turned, end: Turned) -> None:
        travel = self._rings[ring].radius_mm * (end.angle_rad - start.angle_rad)
        least = max(0.0, (start.value_mm + end.value_mm - travel) / 2.0)
        self._count += 1
        heapq.heappush(self._open, _Interval(least, self._count, ring, start, end))

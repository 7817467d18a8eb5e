"""Places on ridges and valleys linked into chains, followed from the sharpest on, then joined."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.progress import Report, part_of, silent
from geometry.surface.character.places import RidgePlaces
from geometry.surface.character.stations import RoughLine

_SAME_WAY = 0.8
_JUMPS = (1.0, 2.0, 3.0)
_AROUND = 1.2
_LEAST_ADVANCE = 0.25
_TURN_SHARE = 0.6
_TUBE = 1.5
_SHORTEST_MM = 8.0
_MOST_STEPS = 4000
_SAME_LINE, _LONG = 0.8, 1.5
_BRIDGED_MM, _ASIDE_SHARE, _ASIDE_MM = 14.0, 0.35, 1.5
_END_MM = 8.0
_LEAST_ROUND_MM, _OVER_MM = 60.0, 2.5
_EVERY_SEEDS = 200


def chains_of(levels: Sequence[RidgePlaces], *, report: Report = silent) -> tuple[RoughLine, ...]:
    """Return the chains along places, sharp lines first; wider ones only where no sharper runs.

    Parameters
    ----------
    levels : sequence of RidgePlaces
        Finest first.
    """
    found: list[RoughLine] = []
    for number, level in enumerate(levels):
        share = number / len(levels)
        report(share, "link lines")
        free = ~_on_chains(level, found)
        for kind in (0, 1):
            rows = np.flatnonzero(free & (level.kind == kind))
            if len(rows):
                found += _Followed(level, rows, part_of(report, share, share)).chains(kind)
    return joined_chains(found)


def _on_chains(level: RidgePlaces, chains: Sequence[RoughLine]) -> BoolArray:
    """Return which places lie on chains already found, long ones for their reach."""
    out = np.zeros(len(level.points), bool)
    for kind in (0, 1):
        long = _LONG * level.reach_mm
        same = [chain for chain in chains if chain.kind == kind and chain.length_mm > long]
        rows = np.flatnonzero(level.kind == kind)
        if not same or not len(rows):
            continue
        points = np.concatenate([chain.points for chain in same])
        ahead = np.concatenate([_directions(chain.points) for chain in same])
        reach = _SAME_LINE * level.reach_mm
        distance, nearest = cKDTree(points).query(level.points[rows], distance_upper_bound=reach)
        close = np.isfinite(distance)
        way = ahead[np.where(close, nearest, 0)]
        out[rows] = close & (np.abs((way * level.ahead[rows]).sum(axis=1)) > _SAME_WAY)
    return out


def _directions(points: FloatArray) -> FloatArray:
    ahead = np.gradient(points, axis=0)
    return np.asarray(ahead / np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-300))


class _Followed:
    """Places of one kind at one level, followed into chains."""

    def __init__(self, level: RidgePlaces, rows: IntArray, report: Report) -> None:
        self._points, self._ahead = level.points[rows], level.ahead[rows]
        self._bent, self._step = level.bent[rows], level.cell_mm
        self._tree = cKDTree(self._points)
        self._used = np.zeros(len(rows), bool)
        self._report = report

    def chains(self, kind: int) -> list[RoughLine]:
        """Return the chains, begun at the sharpest place not yet passed."""
        found = []
        for number, seed in enumerate(np.argsort(-self._bent, kind="stable").tolist()):
            if number % _EVERY_SEEDS == 0:
                self._report(0.0, "link lines")
            if self._used[seed]:
                continue
            ahead, closed = self._from(seed, self._ahead[seed])
            behind = [] if closed else self._from(seed, -self._ahead[seed])[0]
            points = np.array([*behind[::-1], self._points[seed], *ahead])
            self._used[self._beside(points)] = True
            chain = RoughLine(points, kind, closed)
            if len(points) > 2 and chain.length_mm >= _SHORTEST_MM:
                found.append(chain)
        return found

    def _from(self, seed: int, ahead: FloatArray) -> tuple[list[FloatArray], bool]:
        """Return the places met from a seed on, and whether they come back to it."""
        start = self._points[seed]
        here, way = start, ahead
        out: list[FloatArray] = []
        for _ in range(_MOST_STEPS):
            after = self._next(here, way)
            if after is None:
                return out, False
            moved = after[0] - here
            here = after[0]
            way = (1.0 - _TURN_SHARE) * moved / np.linalg.norm(moved) + _TURN_SHARE * after[1]
            way = way / np.linalg.norm(way)
            to_start = start - here
            near = float(np.linalg.norm(to_start)) < 1.5 * self._step
            if len(out) > 6 and near and float(to_start @ way) > 0.0:
                return [*out, here], True
            out.append(here)
        return out, False

    def _next(self, here: FloatArray, way: FloatArray) -> tuple[FloatArray, FloatArray] | None:
        """Return the next place and the way on from there."""
        for jump in _JUMPS:
            aim = here + jump * self._step * way
            rows = np.array(self._tree.query_ball_point(aim, _AROUND * self._step), np.int64)
            if not len(rows):
                continue
            along = self._ahead[rows] @ way
            usable = (np.abs(along) > _SAME_WAY) & ~self._used[rows]
            rows, along = rows[usable], along[usable]
            if not len(rows):
                continue
            off = ((self._points[rows] - aim) ** 2).sum(axis=1) / self._step**2
            weight = self._bent[rows] * np.exp(-off)
            weight /= weight.sum()
            place = weight @ self._points[rows]
            on = weight @ (np.sign(along)[:, None] * self._ahead[rows])
            if float((place - here) @ way) > _LEAST_ADVANCE * self._step:
                return place, on / np.linalg.norm(on)
        return None

    def _beside(self, points: FloatArray) -> IntArray:
        """Return the places beside a chain that run its way."""
        ways = _directions(points) if len(points) > 1 else np.zeros((1, 3))
        rows: list[int] = []
        for point, way in zip(points, ways, strict=True):
            near = np.array(self._tree.query_ball_point(point, _TUBE * self._step), np.int64)
            rows += near[np.abs(self._ahead[near] @ way) > _SAME_WAY].tolist()
        return np.array(rows, np.int64)


@dataclass(frozen=True, eq=False)
class _End:
    """An end of a chain: whose, whether its start, where, and the way out of the chain."""

    chain: int
    at_start: bool
    place: FloatArray
    way: FloatArray


def joined_chains(chains: Sequence[RoughLine]) -> tuple[RoughLine, ...]:
    """Return chains joined end to end where one runs on where another stops, best pairs first."""
    ends = [
        _End(number, at_start, *_end(chain.points if at_start else chain.points[::-1]))
        for number, chain in enumerate(chains)
        if not chain.closed
        for at_start in (True, False)
    ]
    if not ends:
        return tuple(chains)
    pairs = sorted(
        (cost, a, b)
        for a, b in cKDTree(np.array([end.place for end in ends])).query_pairs(_BRIDGED_MM)
        if chains[ends[a].chain].kind == chains[ends[b].chain].kind
        and ends[a].chain != ends[b].chain
        and (cost := _cost(ends[a], ends[b])) < np.inf
    )
    whole = list(range(len(chains)))  # what each chain has become part of
    mate: dict[int, int] = {}
    for _, a, b in pairs:
        one, other = whole[ends[a].chain], whole[ends[b].chain]
        if a in mate or b in mate or one == other:
            continue
        mate[a], mate[b] = b, a
        whole = [one if each == other else each for each in whole]
    return tuple(closed_up(chain) for chain in _assembled(chains, ends, mate))


def closed_up(chain: RoughLine) -> RoughLine:
    """Return a chain closed where its end comes back to its start or runs over it."""
    if chain.closed or chain.length_mm < _LEAST_ROUND_MM:
        return chain
    points, ahead = chain.points, _directions(chain.points)
    half = len(points) // 2
    found = cKDTree(points[: half // 2]).query(points[half:])
    distance, nearest = np.asarray(found[0]), np.asarray(found[1], np.int64)
    alike = (ahead[half:] * ahead[nearest]).sum(axis=1) > _SAME_WAY
    over = np.flatnonzero((distance < _OVER_MM) & alike)
    if len(over):
        begin, end = int(nearest[over[0]]), half + int(over[0])
        return RoughLine(points[begin:end], chain.kind, True)
    start, last = _End(0, True, *_end(points)), _End(0, False, *_end(points[::-1]))
    near = float(np.linalg.norm(start.place - last.place)) < _BRIDGED_MM
    closes = near and _cost(start, last) < np.inf
    return RoughLine(points, chain.kind, closes)


def _assembled(
    chains: Sequence[RoughLine], ends: Sequence[_End], mate: dict[int, int]
) -> list[RoughLine]:
    """Return the chains strung together by their ends' mates."""
    out = [chain for chain in chains if chain.closed]
    done: set[int] = set()
    for number, end in enumerate(ends):
        if number in mate or end.chain in done:
            continue
        points: list[FloatArray] = []
        here = number
        while True:
            chain = ends[here].chain
            done.add(chain)
            points.append(chains[chain].points[:: 1 if ends[here].at_start else -1])
            far = here + 1 if ends[here].at_start else here - 1
            if far not in mate:
                break
            here = mate[far]
        out.append(RoughLine(np.concatenate(points), chains[end.chain].kind, False))
    return out


def _end(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the first point and the way out of the chain there."""
    run = np.linalg.norm(points - points[0], axis=1)
    inner = int(np.argmax(run > _END_MM)) if (run > _END_MM).any() else len(points) - 1
    way = points[0] - points[inner]
    return points[0], way / max(float(np.linalg.norm(way)), 1e-300)


def _cost(one: _End, other: _End) -> float:
    """Return how ill two ends go together; infinite where they do not."""
    gap = other.place - one.place
    length = float(np.linalg.norm(gap))
    if float(one.way @ other.way) > -_SAME_WAY:
        return np.inf
    along = (float(gap @ one.way) - float(gap @ other.way)) / 2.0
    aside = float(np.linalg.norm(gap - (gap @ one.way) * one.way))
    if along < -_END_MM / 2.0 or aside > _ASIDE_MM + _ASIDE_SHARE * length:
        return np.inf
    return length + 2.0 * aside

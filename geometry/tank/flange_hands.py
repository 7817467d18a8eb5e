"""The stations of a flange's line on both hands, counted from the centre plane or a front end."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.mesh import NearestPoint, TriMesh
from geometry.tank.line_bend import BentLine

RunHand = Literal["left", "right", "centre", ""]

_ON_CENTRE_MM = 2.0
_LEAST_RUN_MM = 20.0


class FlangeEdgeTooShortError(GeometryError):
    """An edge too short for a flange's stations.

    Attributes
    ----------
    length_mm, least_mm : float
    """

    def __init__(self, length_mm: float, least_mm: float) -> None:
        self.length_mm, self.least_mm = length_mm, least_mm
        super().__init__(f"an edge of {length_mm:.3g} mm, at least {least_mm:.3g} mm needed")


@dataclass(frozen=True)
class Stationing:
    """How stations are set along a line.

    Attributes
    ----------
    pitch_mm : float
        From station to station.
    both_hands : bool
        Whether y = 0 is the tank's centre plane: stations are then counted from it, and a line on
        one hand is carried over to the other.
    noise_mm, apart_mm : float
        Standard error of the line's points, and how far apart two are each other's no more.
    calm_mm : float
        Over how far to either side the line is looked at, at least: shorter waves are no shape.
    """

    pitch_mm: float = 50.0
    both_hands: bool = True
    noise_mm: float = 0.0
    apart_mm: float = 0.0
    calm_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class RootLine:
    """A line a flange is turned along, its panel on the left seen from outside.

    Attributes
    ----------
    points : (k, 3) float, mm
        On the skin; a closed line does not repeat its first.
    is_closed : bool
    skip_mm : float
        How much of the skin beside it is bent already, and does not tell how the panel stands.
    evened_mm : float
        Over how much of its length it was evened out: nearer points share their errors.
    """

    points: FloatArray
    is_closed: bool
    skip_mm: float = 0.0
    evened_mm: float = 0.0

    def __post_init__(self) -> None:
        locked(self.points)


@dataclass(frozen=True, eq=False)
class HandRun:
    """The stations of one hand.

    Attributes
    ----------
    hand : RunHand
    line : BentLine
    along : (k,) float, mm
        Where on the line they are.
    from_start : (k,) float, mm
        How far from where they are counted from.
    length_mm : float
        Of the hand's part of the line.
    has_centre : bool
        Whether the first stands on the centre plane.
    """

    hand: RunHand
    line: BentLine
    along: FloatArray
    from_start: FloatArray
    length_mm: float
    has_centre: bool


def hand_runs(mesh: TriMesh, line: RootLine, how: Stationing) -> tuple[list[HandRun], RunHand]:
    """Return the runs of both hands, and the hand whose line is the other's image, if any.

    Raises
    ------
    FlangeEdgeTooShortError, LineTooShortToBendError
    """
    bent = _bent(line, how)
    if not how.both_hands:
        start = _Start(_front_most(line.points, bent), 1.0)
        return [_run("", bent, start, how.pitch_mm)], ""
    crossing = _front_crossing(line, bent)
    if crossing is not None:
        return _from_centre(line, bent, crossing, how.pitch_mm), ""
    hand: RunHand = "left" if float(np.median(line.points[:, 1])) > 0.0 else "right"
    other: RunHand = "right" if hand == "left" else "left"
    image = _image(mesh, line)
    bent_image = _bent(image, how)
    runs = [
        _run(hand, bent, _front_start(line, bent, is_image=False), how.pitch_mm),
        _run(other, bent_image, _front_start(image, bent_image, is_image=True), how.pitch_mm),
    ]
    return runs, other


def _bent(line: RootLine, how: Stationing) -> BentLine:
    bent = BentLine(
        line.points,
        is_closed=line.is_closed,
        noise_mm=how.noise_mm,
        apart_mm=max(how.apart_mm, line.evened_mm),
        calm_mm=how.calm_mm,
    )
    if bent.length_mm < _LEAST_RUN_MM:
        raise FlangeEdgeTooShortError(bent.length_mm, _LEAST_RUN_MM)
    return bent


@dataclass(frozen=True)
class _Start:
    """Where stations begin, and which way along the line they go on: 1 or -1."""

    along_mm: float
    way: float
    ahead_mm: float | None = None
    on_centre: bool = False


def _from_centre(line: RootLine, bent: BentLine, crossing: float, pitch_mm: float) -> list[HandRun]:
    """Return the runs to the left and to the right of where the line crosses the centre plane."""
    runs: list[HandRun] = []
    beside = bent.at(np.array([crossing + _LEAST_RUN_MM / 2.0])).places[0, 1]
    both: tuple[RunHand, RunHand] = ("left", "right")
    for hand in both:
        way = 1.0 if (beside > 0.0) == (hand == "left") else -1.0
        ahead = _to_next_crossing(line, bent, crossing, way)
        runs.append(_run(hand, bent, _Start(crossing, way, ahead, True), pitch_mm))
    return runs


def _run(hand: RunHand, bent: BentLine, start: _Start, pitch_mm: float) -> HandRun:
    """Return stations from a start one way, at a pitch, as far as the line goes."""
    ahead = start.ahead_mm
    if ahead is None and bent.is_closed:
        ahead = bent.length_mm
    if ahead is None:
        ahead = bent.length_mm - start.along_mm if start.way > 0.0 else start.along_mm
    steps = np.arange(0.0, max(ahead, 0.0) + 1e-6, pitch_mm)
    if bent.is_closed and ahead >= bent.length_mm - 1e-6:
        steps = steps[steps < bent.length_mm - pitch_mm / 4.0]
    along = start.along_mm + start.way * steps
    return HandRun(hand, bent, along, steps, ahead, start.on_centre)


def _front_most(points: FloatArray, bent: BentLine) -> float:
    return float(bent.along_of(int(np.argmax(points[:, 0])))) if bent.is_closed else 0.0


def _front_start(line: RootLine, bent: BentLine, *, is_image: bool) -> _Start:
    """Return where the stations of a line on one hand begin; its image runs the other way."""
    if line.is_closed:
        return _Start(_front_most(line.points, bent), -1.0 if is_image else 1.0)
    from_first = line.points[0, 0] >= line.points[-1, 0]
    return _Start(0.0, 1.0) if from_first else _Start(bent.length_mm, -1.0)


def _crossings(line: RootLine, bent: BentLine) -> FloatArray:
    """Return how far along the line crosses the centre plane."""
    y = line.points[:, 1]
    last = len(y) if line.is_closed else len(y) - 1
    at = np.flatnonzero((y * np.roll(y, -1) <= 0.0) & (np.abs(y) + np.abs(np.roll(y, -1)) > 0.0))
    at = at[at < last]
    following = (at + 1) % len(y)
    share = y[at] / (y[at] - y[following])
    begins = np.array([bent.along_of(int(each)) for each in at])
    ends = np.array([bent.along_of(int(each)) for each in following])
    ends = np.where(ends < begins, ends + bent.length_mm, ends)
    return np.asarray(begins + share * (ends - begins))


def _front_crossing(line: RootLine, bent: BentLine) -> float | None:
    """Return where the line crosses the centre plane furthest ahead; None where it does not.

    A line that lies in the plane crosses it nowhere.
    """
    if np.abs(line.points[:, 1]).max() < _ON_CENTRE_MM:
        return 0.0
    found = _crossings(line, bent)
    if not len(found):
        return None
    return float(found[int(np.argmax(bent.at(found).places[:, 0]))])


def _to_next_crossing(line: RootLine, bent: BentLine, start: float, way: float) -> float:
    """Return how far a hand's run goes: to the next crossing, or to the line's end."""
    others = way * (_crossings(line, bent) - start)
    if bent.is_closed:
        others = np.mod(others, bent.length_mm)
    ahead = others[others > _LEAST_RUN_MM]
    if len(ahead):
        return float(ahead.min())
    if bent.is_closed:
        return bent.length_mm
    return bent.length_mm - start if way > 0.0 else start


def _image(mesh: TriMesh, line: RootLine) -> RootLine:
    """Return a line's mirror image brought onto the skin, its panel on the left again."""
    image = line.points * np.array([1.0, -1.0, 1.0])
    on_skin = NearestPoint(mesh).find(image[::-1]).points
    return replace(line, points=np.array(on_skin))

"""A flange along a line of the tank: for each station its turn, its radius, its stretch or shrink.

The line runs with its panel on the left, seen from outside; the flange leaves it on the right.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.metal import (
    FlangeCase,
    FlangeTooWideError,
    FlangeWidthError,
    bend_saving_mm,
    case_of,
    edge_per_root,
    finished_if_free,
    lip_thickness,
)
from geometry.progress import Report, silent
from geometry.tank.flange_hands import HandRun, RootLine, RunHand, Stationing, hand_runs
from geometry.tank.line_bend import LineBend
from geometry.tank.lip import EVENED_MM, Lip
from geometry.tank.skin_beside import SkinBeside, skin_beside

FlangeSide = Literal["inside", "outside"]
FlangeLies = Literal["turned", "level"]
FlangeCurve = Literal["inside", "outside", "concave", "convex", ""]

LEAST_TURN_RAD, MOST_TURN_RAD = np.radians(5.0), np.radians(150.0)
"""Less is a line in the skin, more a hem; common practice, no source."""


_CLEARLY = 2.0


class FlangeTurnError(GeometryError):
    """A flange turned too little or too far somewhere.

    Attributes
    ----------
    turn_rad : float
    place : tuple of float
        (x, y, z) mm; empty where it is what was asked for.
    """

    def __init__(self, turn_rad: float, place: tuple[float, ...] = ()) -> None:
        self.turn_rad, self.place = turn_rad, place
        super().__init__(f"a flange turned by {np.degrees(turn_rad):.3g} degrees")


@dataclass(frozen=True)
class Flange:
    """What is turned along a line.

    Attributes
    ----------
    width_mm : float
        Finished, from the outside of the bend.
    turn_rad : float
        Out of the panel's own face, where it is turned by an angle.
    to : "inside" or "outside"
        Of the tank.
    lies : "turned" or "level"
        Turned by the angle everywhere, or by what it takes to lie level.
    root_radius_mm, sheet_mm : float
        Of the bend's inside; of the metal. Both 0: a sharp line.
    """

    width_mm: float
    turn_rad: float = np.pi / 2.0
    to: FlangeSide = "inside"
    lies: FlangeLies = "turned"
    root_radius_mm: float = 0.0
    sheet_mm: float = 0.0


@dataclass(frozen=True)
class FlangeStation:
    """A flange at one station.

    Attributes
    ----------
    number : int
        From the centre line, or from the line's front end; like numbers of the two hands are
        each other's images.
    hand : "left", "right", "centre" or ""
    along_mm : float
        From there, along the root line.
    place, tip : (x, y, z), mm
        On the root line, and the finished edge abreast of it.
    panel_lean_rad : float
        How far the panel's face leans from upright beside the line: above 0 where it leans over
        the tank as it goes up.
    turn_rad : float
        How far the flange is turned out of the panel's face.
    radius_mm : float
        Of the root line, in the plane it bends in; inf where it is straight.
    curve : FlangeCurve
        Off a wall: to which side of the tank the line's middle lies; where a flat edge is tipped:
        whether it runs concave or convex in the sheet.
    case : FlangeCase
    width_mm, flat_mm : float
        Finished, from the outside of the bend; flat, from the bend line.
    stretch : float
        The lip's edge, finished over flat; 1 on a straight line.
    per_root : float
        What the edge gains in finishing, for each length of root line; below 0 it shrinks.
    spread : float
        Standard error of `stretch`, from the scatter of the line and of the skin beside it.
    free_mm : float
        How wide it comes out where its width is free to give.
    lip_thickness : float
        Of the sheet's, its width free to give.
    bend_in_skin, bend_in_lip : float, 1/mm
        What the root line's bend has in the panel's face and in the finished lip's: above 0 where
        its middle lies beyond the line on the lip's side. With w the width, h the flat metal,
        `stretch` is (1 - w bend_in_lip - (w - h) bend_in_skin) / (1 - h bend_in_skin).
    """

    number: int
    hand: RunHand
    along_mm: float
    place: tuple[float, float, float]
    tip: tuple[float, float, float]
    panel_lean_rad: float
    turn_rad: float
    radius_mm: float
    curve: FlangeCurve
    case: FlangeCase
    width_mm: float
    flat_mm: float
    stretch: float
    per_root: float
    spread: float
    free_mm: float
    lip_thickness: float
    bend_in_skin: float
    bend_in_lip: float


@dataclass(frozen=True)
class FlangeRun:
    """A flange along a line.

    Attributes
    ----------
    stations : tuple of FlangeStation
        Hand by hand, each from the centre line or from its front end.
    lengths_mm : tuple of (hand, float)
        Of the root line, hand by hand.
    gains_mm : tuple of (hand, float)
        What the edge gains along the whole of each hand; below 0 it shrinks.
    mirrored : str
        The hand on which the line is the image of the other's; "" where each has its own.
    noise_mm : float
        Scatter of the line's points.
    """

    stations: tuple[FlangeStation, ...]
    lengths_mm: tuple[tuple[RunHand, float], ...]
    gains_mm: tuple[tuple[RunHand, float], ...]
    mirrored: RunHand
    noise_mm: float

    def of_hand(self, hand: str) -> tuple[FlangeStation, ...]:
        """Return the stations of one hand, those on the centre line among them."""
        return tuple(each for each in self.stations if each.hand in (hand, "centre"))

    @property
    def hands(self) -> tuple[RunHand, ...]:
        """The hands it has stations on."""
        return tuple(hand for hand, _ in self.lengths_mm)

    @property
    def most_stretched(self) -> FlangeStation:
        """The station whose lip is stretched most."""
        return max(self.stations, key=lambda each: each.stretch)

    @property
    def most_shrunk(self) -> FlangeStation:
        """The station whose lip is shrunk most."""
        return min(self.stations, key=lambda each: each.stretch)


def flange_run(
    mesh: TriMesh,
    line: RootLine,
    flange: Flange,
    how: Stationing,
    *,
    report: Report = silent,
) -> FlangeRun:
    """Return a flange along a line, station by station.

    Parameters
    ----------
    mesh : TriMesh
        The skin in tank axes, faces outward.
    line : RootLine
    flange : Flange
    how : Stationing
    report : Report

    Raises
    ------
    FlangeWidthError, FlangeTurnError, FlangeTooWideError, FlangeEdgeTooShortError
    LineTooShortToBendError
    """
    check_flange(flange)

    def asked(course: LineBend, skin: SkinBeside) -> tuple[FloatArray, FloatArray]:
        return np.full(len(course.along), flange.width_mm), _turns(course, skin, flange)

    return _laid_out(mesh, line, _Asked(flange, asked), how, report)


def lip_run(
    mesh: TriMesh,
    lip: Lip,
    how: Stationing,
    *,
    report: Report = silent,
) -> FlangeRun:
    """Return what a lip that is there already took, as `flange_run` tells one to be made.

    Its width and turn are those found in the scan.
    """
    to: FlangeSide = "inside" if float(np.median(lip.turn_rad)) > 0.0 else "outside"
    nearest = cKDTree(lip.root)

    def found(course: LineBend, skin: SkinBeside) -> tuple[FloatArray, FloatArray]:
        abreast = np.asarray(nearest.query(course.places)[1])
        return lip.width_mm[abreast], np.abs(lip.turn_rad[abreast])

    flange = Flange(float(np.median(lip.width_mm)), to=to)
    return _laid_out(mesh, root_of_lip(lip), _Asked(flange, found), how, report)


def root_of_lip(lip: Lip) -> RootLine:
    """Return the line a lip found in the scan is turned along."""
    bent = float(np.median(lip.radius_mm * np.abs(lip.turn_rad))) / 2.0
    return RootLine(lip.root, lip.is_closed, bent + 1.0, EVENED_MM)


def check_flange(flange: Flange) -> None:
    """Raise where a flange cannot be on any line.

    Raises
    ------
    FlangeWidthError, FlangeTurnError
    """
    if flange.lies == "turned" and not LEAST_TURN_RAD <= flange.turn_rad <= MOST_TURN_RAD:
        raise FlangeTurnError(flange.turn_rad)
    if not np.isfinite(flange.width_mm) or flange.width_mm <= 0.0:
        raise FlangeWidthError(flange.width_mm, 0.0)


@dataclass(frozen=True)
class _Asked:
    """A flange, and its width and turn (k,) each at the stations of a course."""

    flange: Flange
    at: Callable[[LineBend, SkinBeside], tuple[FloatArray, FloatArray]]


def _laid_out(
    mesh: TriMesh, line: RootLine, asked: _Asked, how: Stationing, report: Report
) -> FlangeRun:
    """Return the run of a flange whose width and turn are told station by station."""
    report(0.0, "laying out a flange")
    runs, mirrored = hand_runs(mesh, line, how)
    stations: list[FlangeStation] = []
    gains: list[tuple[RunHand, float]] = []
    for at, run in enumerate(runs):
        report(at / len(runs), "laying out a flange")
        course = run.line.at(run.along)
        skin = skin_beside(mesh, course, line.skip_mm)
        found = _stations(run, course, skin, asked)
        gained = np.array([each.per_root for each in found])
        gains.append((run.hand, float(np.trapezoid(gained, run.from_start))))
        stations += found if at == 0 or not run.has_centre else found[1:]
    report(1.0, "laying out a flange")
    lengths = tuple((run.hand, run.length_mm) for run in runs)
    return FlangeRun(tuple(stations), lengths, tuple(gains), mirrored, runs[0].line.noise_mm)


def _turns(course: LineBend, skin: SkinBeside, flange: Flange) -> FloatArray:
    """Return (k,) how far a flange is turned out of the panel's face."""
    if flange.lies == "turned":
        return np.full(len(course.along), flange.turn_rad)
    beyond = np.cross(course.tangents, skin.outward)
    towards = -skin.outward if flange.to == "inside" else skin.outward
    level = np.cross(course.tangents, np.array([0.0, 0.0, 1.0]))
    size = np.linalg.norm(level, axis=1)
    for at in np.flatnonzero(size < 0.2):
        raise FlangeTurnError(np.pi / 2.0, _place(course.places[at]))
    level /= size[:, None]
    level *= np.sign(np.einsum("ki,ki->k", level, towards))[:, None]
    turn = np.arctan2(np.einsum("ki,ki->k", level, towards), np.einsum("ki,ki->k", level, beyond))
    for at in np.flatnonzero((turn < LEAST_TURN_RAD) | (turn > MOST_TURN_RAD)):
        raise FlangeTurnError(float(turn[at]), _place(course.places[at]))
    return np.asarray(turn)


def _stations(
    run: HandRun, course: LineBend, skin: SkinBeside, asked: _Asked
) -> list[FlangeStation]:
    flange = asked.flange
    width, turn = asked.at(course, skin)
    beyond = np.cross(course.tangents, skin.outward)
    towards = -skin.outward if flange.to == "inside" else skin.outward
    way = np.cos(turn)[:, None] * beyond + np.sin(turn)[:, None] * towards
    saved = np.array(
        [bend_saving_mm(float(a), flange.root_radius_mm, flange.sheet_mm) / 2.0 for a in turn]
    )
    flat = width - saved
    if float(flat.min()) <= 0.0:
        raise FlangeWidthError(flange.width_mm, float(saved.max()))
    in_skin = np.einsum("ki,ki->k", course.bend, beyond)
    in_flange = np.einsum("ki,ki->k", course.bend, way)
    finished, blank, free = _edges(course, flange, (width, flat, saved), (in_skin, in_flange))
    stretch = finished / blank
    across = np.einsum("ki,ki->k", course.bend, skin.outward)
    cases = _cases(in_skin, across)
    size = np.linalg.norm(course.bend, axis=1)
    by_skin = np.hypot(flat, width if flange.lies == "turned" else 0.0) * size * skin.spread_rad
    spread = np.hypot(course.spread * width, by_skin) * stretch
    return [
        FlangeStation(
            number=at,
            hand="centre" if run.has_centre and at == 0 else run.hand,
            along_mm=float(run.from_start[at]),
            place=_place(course.places[at]),
            tip=_place(course.places[at] + saved[at] * beyond[at] + width[at] * way[at]),
            panel_lean_rad=float(np.arcsin(np.clip(skin.outward[at, 2], -1.0, 1.0))),
            turn_rad=float(turn[at]),
            radius_mm=_radius(course.bend[at]),
            curve=_curve(cases[at], float(in_skin[at]), float(across[at])),
            case=cases[at],
            width_mm=float(width[at]),
            flat_mm=float(flat[at]),
            stretch=float(stretch[at]),
            per_root=float(finished[at] - blank[at]),
            spread=float(spread[at]),
            free_mm=float(free[at]),
            lip_thickness=float(lip_thickness(stretch[at])),
            bend_in_skin=float(in_skin[at]),
            bend_in_lip=float(in_flange[at]),
        )
        for at in range(len(course.places))
    ]


def _edges(
    course: LineBend,
    flange: Flange,
    widths: tuple[FloatArray, FloatArray, FloatArray],
    bends: tuple[FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the edge, finished and flat, for each length of root line, and the free width.

    Of widths finished, flat and saved by the bend; of bends in the skin and along the flange.
    """
    width, flat, saved = widths
    in_skin, in_flange = bends
    try:
        finished = edge_per_root(1.0, width * in_flange + saved * in_skin)
        blank = edge_per_root(flat, in_skin)
        free = width + finished_if_free(flat, in_skin, in_flange) - flat
    except FlangeTooWideError as error:
        worst = int(np.argmax(np.maximum(in_skin, in_flange)))
        radius = 1.0 / float(np.linalg.norm(course.bend[worst]))
        place = _place(course.places[worst])
        raise FlangeTooWideError(flange.width_mm, radius, place) from error
    return finished, blank, np.asarray(free)


def _cases(in_skin: FloatArray, across_skin: FloatArray) -> list[FlangeCase]:
    """Return which case each station is: the run's main one, unless it is clearly the other."""
    main = case_of(float(np.abs(in_skin).sum()), float(np.abs(across_skin).sum()))
    least = (_CLEARLY, 1.0) if main == "lip off a wall" else (1.0, _CLEARLY)
    return [
        case_of(a / least[0], b / least[1])
        for a, b in zip(in_skin.tolist(), across_skin.tolist(), strict=True)
    ]


def _curve(case: FlangeCase, in_skin: float, across_skin: float) -> FlangeCurve:
    """Return to which side of the tank a line's middle lies, or which way it bends in the sheet."""
    if case == "straight":
        return ""
    if case == "lip off a wall":
        return "inside" if across_skin < 0.0 else "outside"
    return "concave" if in_skin > 0.0 else "convex"


def _radius(bend: FloatArray) -> float:
    size = float(np.linalg.norm(bend))
    return float("inf") if size == 0.0 else 1.0 / size


def _place(point: FloatArray) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return (x, y, z)

"""The step "Frame fit": least gaps between the tank and frame, forks and bars, and where."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from app.job.choices import FrameBody, FrameFitChoice, JobState, MetalChoice
from app.job.making import Reader, Step, step_besides
from app.job.rest.frame_bodies import PlacedBody, placed_bodies, steering_of
from app.job.rest.frame_bottom import ClosedTank, Underneath, closed_tank, closing_of
from app.job.rest.frame_gaps import FrameGap, TankMetal, TunnelSheet, judged
from app.job.rest.frame_words import frame_words
from app.job.rest.second_scan import PlacedScan, ScanAtHand, placed_scan
from app.job.rest.stood import StoodTank
from app.job.rest.tunnel_step import tunnel_to_mend
from geometry.comparison import Steering, Turned, deepest_turn, nearest_turn
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh, nearest_points
from geometry.progress import Report, part_of, silent
from geometry.tank import NegativeClearanceError

FRAME_FIT = "Frame fit"

_BETWEEN_MM = 0.2
"""So much nearer than at the locks and straight ahead, a place between them is told besides."""


@dataclass(frozen=True, eq=False)
class FrameFit:
    """The tank held against the frame.

    Attributes
    ----------
    choice : FrameFitChoice
    gaps : tuple of FrameGap
        The nearest first.
    axes : TankAxes
    skin : TriMesh
        Tank axes.
    sheet_mm : float
    guessed : tuple of str
    filled_near : tuple of bool
        Whether the skin nearest to each was not scanned.
    placed_off_mm : float or None
        How far the worst of the places a second scan was placed by is off; None without any.
    places_off_mm : tuple of float
        How far each of them is off.
    bottom_held : bool
        Whether bodies were held against the tank closed, its tunnel taken off.
    """

    choice: FrameFitChoice
    gaps: tuple[FrameGap, ...]
    axes: TankAxes
    skin: TriMesh
    sheet_mm: float
    guessed: tuple[str, ...]
    filled_near: tuple[bool, ...]
    placed_off_mm: float | None = None
    places_off_mm: tuple[float, ...] = ()
    bottom_held: bool = False


def frame_step(
    stood: StoodTank,
    choice: FrameFitChoice,
    metal: MetalChoice,
    under: Underneath | None = None,
    second: ScanAtHand | None = None,
    *,
    report: Report,
) -> FrameFit:
    """Return the least gap to every body, in every position it takes.

    Parameters
    ----------
    stood : StoodTank
    choice : FrameFitChoice
    metal : MetalChoice
    under : Underneath or None
    second : ScanAtHand or None
        What the job knows of the second scan.
    report : Report

    Raises
    ------
    BodySizeError
        A body without length or width, by its name.
    NegativeClearanceError, SteeringLockError
    UnreadableScanError, SecondScanSizeError, PlacingPlacesError
    """
    _check_limits(choice)
    placed = placed_bodies(choice)
    tank = TankMetal(stood, metal)
    under = under or Underneath()
    sheet = None if under.tunnel is None else TunnelSheet(under.tunnel)
    closed = closed_tank(stood, metal, under)
    found: list[FrameGap] = []
    for number, each in enumerate(placed):
        share = part_of(report, number / len(placed), (number + 1) / len(placed))
        share(0.0, f"gap to the {each.body.name}")
        rows = _positions(tank, choice, each, share)
        if not each.body.turns:
            rows = _under(sheet, closed, choice, each, rows)
        found += rows
    off: tuple[float, ...] = ()
    if choice.second is not None and choice.second.path:
        scan = placed_scan(choice.second, stood.axes, stood.outside, at_hand=second, report=silent)
        off = tuple(scan.off_mm.tolist())
        found += _of_scan(tank, closed, choice, scan)
    report(1.0, "gaps measured")
    found.sort(key=lambda each: (each.verdict == "in the tunnel", each.gap_mm, -each.gap.reach_mm))
    near = _filled_near(stood, found)
    return FrameFit(
        choice, tuple(found), stood.axes, stood.outside, metal.thickness_mm, stood.guessed,
        tuple(near), max(off, default=None), off, closed is not None,
    )  # fmt: skip


def _check_limits(choice: FrameFitChoice) -> None:
    """Refuse rooms below nothing, and a steering no bars have."""
    rooms = (
        ("room at lock", choice.at_lock_mm),
        ("room over a tube", choice.over_tube_mm),
        ("room beside the rest", choice.beside_mm),
        ("the least room", choice.least_mm),
        ("squash of a rubber", choice.squash_mm),
    )
    for name, room_mm in rooms:
        if room_mm < 0.0:
            raise NegativeClearanceError(name, room_mm)
    if choice.steering is not None:
        steering_of(choice.steering)


def _positions(
    tank: TankMetal, choice: FrameFitChoice, placed: PlacedBody, report: Report
) -> list[FrameGap]:
    """Return a body's gaps: as it stands, or at both locks, straight ahead, and nearest between."""
    if not placed.body.turns or choice.steering is None:
        return [judged(tank, choice, placed, None)]
    steering = steering_of(choice.steering)

    def at(angle: float) -> FrameGap:
        there = replace(placed, mesh=steering.turned(placed.mesh, angle))
        return judged(tank, choice, there, angle)

    told = [at(angle) for angle in (-steering.lock_rad, 0.0, steering.lock_rad)]
    known = [Turned(each.turn_rad or 0.0, each.gap_mm) for each in told]
    between = at(_nearest_angle(tank, steering, placed.mesh, known, report))
    best = min(told, key=lambda each: (each.gap_mm, -each.gap.reach_mm))
    nearer = best.gap_mm - between.gap_mm + between.gap.reach_mm - best.gap.reach_mm
    return [*told, between] if nearer > _BETWEEN_MM else told


def _nearest_angle(
    tank: TankMetal, steering: Steering, body: TriMesh, known: Sequence[Turned], report: Report
) -> float:
    """Return where between the locks a body is nearest, or reaches through deepest."""
    near = nearest_turn(
        steering,
        body,
        lambda mesh: tank.gap(mesh)[1],
        known=known,
        report=part_of(report, 0.1, 0.8),
    )
    if near.value_mm > 0.0:
        return near.angle_rad
    deepest = deepest_turn(
        steering,
        body,
        lambda mesh: tank.gap(mesh)[0].reach_mm,
        near.angle_rad,
        report=part_of(report, 0.8, 1.0),
    )
    return deepest.angle_rad if deepest.value_mm > 0.0 else near.angle_rad


def _in_tunnel(sheet: TunnelSheet, one: FrameGap, to_sheet: FrameGap) -> FrameGap:
    """Return a gap to the tank's skin, allowed where it goes through under a tunnel's roof."""
    goes_under = one.verdict == "through" and to_sheet.gap.side != "through"
    if goes_under and sheet.covers(one.mesh):
        return replace(one, verdict="in the tunnel")
    return one


def _under(
    sheet: TunnelSheet | None,
    closed: ClosedTank | None,
    choice: FrameFitChoice,
    placed: PlacedBody,
    rows: list[FrameGap],
) -> list[FrameGap]:
    """Return a body's gaps to tank, tunnel, and the tank closed where that is nearer yet."""
    if sheet is not None:
        to_sheet = judged(sheet, choice, placed, None)
        rows = [to_sheet, *(_in_tunnel(sheet, one, to_sheet) for one in rows)]
    return rows if closed is None else [*rows, *_nearer_bottom(closed, choice, placed, rows)]


def _nearer_bottom(
    closed: ClosedTank, choice: FrameFitChoice, placed: PlacedBody, rows: Sequence[FrameGap]
) -> list[FrameGap]:
    """Return the gap to the tank closed, where it says more than what is known of a body."""
    if any(one.verdict == "through" for one in rows):
        return []
    found = judged(closed, choice, placed, None)
    if found.gap.side == "inside":
        return [replace(found, verdict="in the fuel")]
    known = min(one.gap_mm for one in rows if one.verdict != "in the tunnel")
    is_nearer = found.gap.side == "through" or found.gap_mm < known - _BETWEEN_MM
    return [found] if is_nearer else []


def _of_scan(
    tank: TankMetal, closed: ClosedTank | None, choice: FrameFitChoice, scan: PlacedScan
) -> list[FrameGap]:
    """Return the least gaps to a second scan, shown by its coarse copy."""
    placed = PlacedBody(FrameBody(scan.name, "other"), "", scan.mesh)
    rows = _under(None, closed, choice, placed, [judged(tank, choice, placed, None)])
    return [replace(found, mesh=scan.shown) for found in rows]


def _filled_near(stood: StoodTank, gaps: Sequence[FrameGap]) -> list[bool]:
    """Return whether nobody scanned the skin where each gap to it is least."""
    if not gaps:
        return []
    at = nearest_points(stood.outside, np.stack([each.gap.on_skin for each in gaps])).faces
    return [
        each.against == "tank" and bool(stood.filled[face])
        for each, face in zip(gaps, at.tolist(), strict=True)
    ]


def frame_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, size, choice = read(state, "Stood"), read(state, "Size"), state.rest.frame_fit
        laid = read(state, "Tunnel")
        if stood is None or size is None or choice is None:
            return None
        if state.rest.tunnel is not None and laid is None:
            return None  # else what runs in it would be told as through the skin
        second = None
        if choice.second is not None:
            second = ScanAtHand(state.frame_scan, size.mm_per_unit)
        under = Underneath(laid, closing_of(state.rest.capacity))
        return (stood, choice, state.metal, under, second)

    def asks(state: JobState) -> str:
        choice = state.rest.frame_fit
        if choice is None:
            return ""
        has_scan = choice.second is not None and bool(choice.second.path)
        if not choice.bodies and not has_scan:
            return "Say what the tank stands beside."
        return tunnel_to_mend(read, state)

    does = "Measure the gaps to frame, forks and bars."
    return step_besides(
        FRAME_FIT,
        does,
        inputs=inputs,
        function=frame_step,
        line=lambda fit, _, show: frame_words(fit.gaps, show),
        asks=asks,
    )

"""The step "Frame fit": least gaps between the tank and frame, forks and bars, and where."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, Protocol

import numpy as np

from app.job.choices import (
    FrameBody,
    FrameFitChoice,
    JobState,
    MetalChoice,
    SteeringChoice,
    TankSpot,
)
from app.job.making import Reader, Step, step_besides
from app.job.rest.frame_bottom import Against, ClosedTank, Underneath, closed_tank
from app.job.rest.place_words import side_words
from app.job.rest.seat_step import spot_at
from app.job.rest.second_scan import PlacedScan, ScanAtHand, placed_scan
from app.job.rest.stood import StoodTank
from app.job.rest.tunnel_step import TunnelLaid, tunnel_to_mend
from app.units import angle_text, length_text
from geometry.comparison import (
    BodySizeError,
    Gap,
    GapFinder,
    Steering,
    Turned,
    block,
    deepest_turn,
    nearest_turn,
    round_bar,
)
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh, nearest_points
from geometry.progress import Report, part_of, silent
from geometry.tank import NegativeClearanceError

FRAME_FIT = "Frame fit"
FAR_MM = 100.0
"""Beyond this a body has nothing to do with the tank: told, in case a place was mistyped."""

_FAR_TURNING_MM = 1000.0
"""The same of what turns with the bars: those reach wide."""

_WIDE_LOCK_RAD = np.radians(60.0)
"""Beyond it a lock is doubted. Common practice, no source."""

_BETWEEN_MM = 0.2
"""So much nearer than at the locks and straight ahead, a place between them is told besides."""

Verdict = Literal[
    "clear", "tight", "too near", "through", "bears", "pressed too far", "far off",
    "in the tunnel", "in the fuel",
]  # fmt: skip


@dataclass(frozen=True, eq=False)
class FrameGap:
    """How near one body, as it stands in one position, comes to the tank.

    Attributes
    ----------
    body : FrameBody
        In tank axes, of its own hand.
    hand : "left", "right" or ""
        Of a body that stands on both.
    turn_rad : float or None
        How far the bars are turned, to the left where over nothing; None where it does not turn.
    mesh : TriMesh
        The body there.
    gap : Gap
    gap_mm : float
        To the metal: its inside face where the body stands inside, a sheet's thickness nearer.
    wanted_mm : float
    verdict : str
    against : "tank", "tunnel" or "bottom"
        The bottom is the tank closed: told where a body is nearer to it, or in the fuel.
    """

    body: FrameBody
    hand: str
    turn_rad: float | None
    mesh: TriMesh
    gap: Gap
    gap_mm: float
    wanted_mm: float
    verdict: Verdict
    against: Against = "tank"

    @property
    def is_wrong(self) -> bool:
        """Whether it cannot stay as it is."""
        return self.verdict in ("too near", "through", "pressed too far", "in the fuel")


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
    placed = _placed(choice)
    tank = _Tank(stood, metal)
    under = under or Underneath()
    sheet = None if under.tunnel is None else _TunnelSheet(under.tunnel)
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


class _Against(Protocol):
    """What bodies are held against."""

    name: Against

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to its mesh, and to the face of the metal a body sees."""


class _TunnelSheet:
    """Gaps to a tunnel's folded sheet: half a sheet nearer than to the middle of its metal."""

    name: Against = "tunnel"

    def __init__(self, tunnel: TunnelLaid) -> None:
        self._finder = GapFinder(tunnel.mesh)
        used = tunnel.mesh.vertices[np.unique(tunnel.mesh.faces)]
        self._low, self._high = used.min(axis=0), used.max(axis=0)
        self._half = tunnel.tunnel.sheet.thickness_mm / 2.0

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to the middle of the sheet, and to its face."""
        gap = self._finder.gap(mesh)
        return gap, max(0.0, gap.distance_mm - self._half)

    def covers(self, mesh: TriMesh) -> bool:
        """Return whether all of a body between the tunnel's ends lies under its roof."""
        x = mesh.vertices[:, 0]
        part = mesh.vertices[(x > self._low[0]) & (x < self._high[0])]
        within = (part[:, 1] > self._low[1]) & (part[:, 1] < self._high[1])
        return bool(len(part) and (within & (part[:, 2] < self._high[2])).all())


class _Tank:
    """Gaps to the tank's metal, whichever face of it a body sees."""

    name: Against = "tank"

    def __init__(self, stood: StoodTank, metal: MetalChoice) -> None:
        self._outside = GapFinder(stood.outside)
        self._stood = stood
        self._is_middle, half = metal.face == "middle", metal.thickness_mm / 2.0
        self._out = half if self._is_middle else 0.0
        self._through = 1.0 + half / (metal.paint_mm + half)
        self._inner: GapFinder | None = None

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to the skin, and to the face of the metal the body sees.

        Beside an edge a body sees both faces. So what is told jumps nowhere while a body moves,
        and changes by no more than it moves.
        """
        gap = self._outside.gap(mesh)
        if gap.side == "through":
            return gap, 0.0
        to_outside = max(0.0, gap.distance_mm - self._out)
        if gap.side == "outside" or self._is_middle:
            return gap, to_outside
        to_inside = self._inside_face().gap(mesh).distance_mm
        return gap, to_inside if gap.side == "inside" else min(to_outside, to_inside)

    def _inside_face(self) -> GapFinder:
        """Return what finds gaps to the inside of the metal, half a sheet under its middle."""
        if self._inner is None:
            outside = self._stood.outside
            inward = self._through * (self._stood.middle - outside.vertices)
            self._inner = GapFinder(TriMesh(outside.vertices + inward, outside.faces))
        return self._inner


@dataclass(frozen=True, eq=False)
class _Placed:
    """A body of one hand where it stands with the bars straight ahead."""

    body: FrameBody
    hand: str
    mesh: TriMesh


def _placed(choice: FrameFitChoice) -> list[_Placed]:
    """Return every body with its hand and mesh, those on both hands twice."""
    placed = []
    for body in choice.bodies:
        hands = ("left", "right") if body.both_hands else ("",)
        for hand in hands:
            here = _on_hand(body, hand)
            placed.append(_Placed(here, hand, body_mesh(here)))
    return placed


def _on_hand(body: FrameBody, hand: str) -> FrameBody:
    """Return a body as it stands on one hand: the hand its farther end lies on is its own."""
    if not hand:
        return body
    farther = max(body.start.left_mm, body.end.left_mm, key=abs)
    if (farther > 0.0) == (hand == "left") or farther == 0.0:
        return body
    return replace(body, start=_across(body.start), end=_across(body.end))


def _across(at: TankSpot) -> TankSpot:
    return replace(at, left_mm=-at.left_mm if at.left_mm else 0.0)


def body_mesh(body: FrameBody) -> TriMesh:
    """Return a body's mesh, in tank axes.

    Raises
    ------
    BodySizeError
    """
    start, end = spot_at(body.start), spot_at(body.end)
    try:
        if body.form == "round":
            return round_bar(start, end, body.across_mm)
        return block(start, end, body.across_mm, body.height_mm)
    except BodySizeError as error:
        raise BodySizeError(error.what, error.found_mm, body.name) from error


def steering_of(choice: SteeringChoice) -> Steering:
    """Return the steering axis.

    Raises
    ------
    BodySizeError, SteeringLockError
    """
    try:
        return Steering(spot_at(choice.foot), spot_at(choice.top), choice.lock_rad)
    except BodySizeError as error:
        raise BodySizeError(error.what, error.found_mm, "steering axis") from error


def _positions(
    tank: _Tank, choice: FrameFitChoice, placed: _Placed, report: Report
) -> list[FrameGap]:
    """Return a body's gaps: as it stands, or at both locks, straight ahead, and nearest between."""
    if not placed.body.turns or choice.steering is None:
        return [_judged(tank, choice, placed, None)]
    steering = steering_of(choice.steering)

    def at(angle: float) -> FrameGap:
        there = replace(placed, mesh=steering.turned(placed.mesh, angle))
        return _judged(tank, choice, there, angle)

    told = [at(angle) for angle in (-steering.lock_rad, 0.0, steering.lock_rad)]
    known = [Turned(each.turn_rad or 0.0, each.gap_mm) for each in told]
    between = at(_nearest_angle(tank, steering, placed.mesh, known, report))
    best = min(told, key=lambda each: (each.gap_mm, -each.gap.reach_mm))
    nearer = best.gap_mm - between.gap_mm + between.gap.reach_mm - best.gap.reach_mm
    return [*told, between] if nearer > _BETWEEN_MM else told


def _nearest_angle(
    tank: _Tank, steering: Steering, body: TriMesh, known: Sequence[Turned], report: Report
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


def _judged(
    tank: _Against, choice: FrameFitChoice, placed: _Placed, turn_rad: float | None
) -> FrameGap:
    body = placed.body
    gap, gap_mm = tank.gap(placed.mesh)
    verdict = _verdict(choice, body, gap, gap_mm)
    wanted = wanted_mm(choice, body, gap)
    return FrameGap(
        body, placed.hand, turn_rad, placed.mesh, gap, gap_mm, wanted, verdict, tank.name
    )


def _in_tunnel(sheet: _TunnelSheet, one: FrameGap, to_sheet: FrameGap) -> FrameGap:
    """Return a gap to the tank's skin, allowed where it goes through under a tunnel's roof."""
    goes_under = one.verdict == "through" and to_sheet.gap.side != "through"
    if goes_under and sheet.covers(one.mesh):
        return replace(one, verdict="in the tunnel")
    return one


def _under(
    sheet: _TunnelSheet | None,
    closed: ClosedTank | None,
    choice: FrameFitChoice,
    placed: _Placed,
    rows: list[FrameGap],
) -> list[FrameGap]:
    """Return a body's gaps to tank, tunnel, and the tank closed where that is nearer yet."""
    if sheet is not None:
        to_sheet = _judged(sheet, choice, placed, None)
        rows = [to_sheet, *(_in_tunnel(sheet, one, to_sheet) for one in rows)]
    return rows if closed is None else [*rows, *_nearer_bottom(closed, choice, placed, rows)]


def _nearer_bottom(
    closed: ClosedTank, choice: FrameFitChoice, placed: _Placed, rows: Sequence[FrameGap]
) -> list[FrameGap]:
    """Return the gap to the tank closed, where it says more than what is known of a body."""
    if any(one.verdict == "through" for one in rows):
        return []
    found = _judged(closed, choice, placed, None)
    if found.gap.side == "inside":
        return [replace(found, verdict="in the fuel")]
    known = min(one.gap_mm for one in rows if one.verdict != "in the tunnel")
    is_nearer = found.gap.side == "through" or found.gap_mm < known - _BETWEEN_MM
    return [found] if is_nearer else []


def _of_scan(
    tank: _Tank, closed: ClosedTank | None, choice: FrameFitChoice, scan: PlacedScan
) -> list[FrameGap]:
    """Return the least gaps to a second scan, shown by its coarse copy."""
    placed = _Placed(FrameBody(scan.name, "other"), "", scan.mesh)
    rows = _under(None, closed, choice, placed, [_judged(tank, choice, placed, None)])
    return [replace(found, mesh=scan.shown) for found in rows]


def wanted_mm(choice: FrameFitChoice, body: FrameBody, gap: Gap) -> float:
    """Return what room a body is to have: a tube more over it than beside it."""
    if body.kind == "rubber":
        return 0.0
    if body.turns:
        return choice.at_lock_mm
    away = gap.on_skin - gap.on_body
    is_over = abs(away[2]) >= abs(away[1])
    return choice.over_tube_mm if body.kind == "tube" and is_over else choice.beside_mm


def _verdict(choice: FrameFitChoice, body: FrameBody, gap: Gap, gap_mm: float) -> Verdict:
    through = gap.side == "through"
    if gap_mm > (_FAR_TURNING_MM if body.turns else FAR_MM):
        return "far off"
    if body.kind == "rubber":
        if through and gap.reach_mm > choice.squash_mm:
            return "pressed too far"
        return "bears" if through or gap_mm <= choice.squash_mm else "clear"
    if through:
        return "through"
    if gap_mm < choice.least_mm:
        return "too near"
    return "clear" if gap_mm >= wanted_mm(choice, body, gap) else "tight"


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
        return (stood, choice, state.metal, Underneath(laid, state.rest.capacity), second)

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


def frame_words(gaps: Sequence[FrameGap], show: str) -> str:
    """Return the worst of it, in a line."""
    if not gaps:
        return "nothing to measure to"
    wrong = {each.body.name for each in gaps if each.is_wrong}
    if wrong:
        bodies = "1 body" if len(wrong) == 1 else f"{len(wrong)} bodies"
        return f"{bodies} too near or through the skin"
    least = gaps[0]
    return f"least gap {length_text(least.gap_mm, show)}, {least.body.name}"


def lock_words(choice: FrameFitChoice) -> str:
    """Return what is to be said of a lock wider than bars usually have; "" for others.

    >>> lock_words(FrameFitChoice())
    ''
    """
    steering = choice.steering
    if steering is None or steering.lock_rad <= _WIDE_LOCK_RAD:
        return ""
    return f"A lock of {angle_text(steering.lock_rad)} is more than bars usually turn: measure it."


def position_words(each: FrameGap) -> str:
    """Return how a body stands: its hand, and how far the bars are turned."""
    words = f"{each.body.name}, {each.hand}" if each.hand else each.body.name
    if each.against != "tank":
        words += f", to the {each.against}"
    if each.turn_rad is None:
        return words
    turned = round(float(np.degrees(abs(each.turn_rad))))
    if turned == 0:
        return f"{words}, straight ahead"
    return f"{words}, bars {turned}\u00b0 {'left' if each.turn_rad > 0.0 else 'right'}"


def gap_place_words(each: FrameGap, show: str) -> str:
    """Return where on the tank a gap is least, or a body goes through."""
    at = each.gap.on_skin
    return f"{_length(at[0], show)} ahead, {side_words(at, show)}, {_length(at[2], show)} up"


def _length(value_mm: float, show: str) -> str:
    return length_text(value_mm, show, decimals=0)

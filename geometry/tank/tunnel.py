"""A whole tunnel laid out: its pieces flat, its plates, where it sits, what it clears."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import TriMesh
from geometry.progress import Report, silent
from geometry.tank.tunnel_ends import first_through_skin
from geometry.tank.tunnel_faults import LegsShortError, StepCrossesError
from geometry.tank.tunnel_fit import (
    TunnelSheet,
    bend_radius_mm,
    check_in_tank,
    check_tube,
    checked_sizes,
    fitted_ends,
    form_of,
    half_foot_mm,
    spans_of,
)
from geometry.tank.tunnel_form import Form, Span
from geometry.tank.tunnel_gaps import Gap, tunnel_gaps
from geometry.tank.tunnel_inside import check_sections
from geometry.tank.tunnel_piece import SIDES, Travel, TunnelPiece, tunnel_piece
from geometry.tank.tunnel_seat import TankBottom, TunnelSeat, flat_bottom, positions
from geometry.tank.tunnel_spec import RoundBody, TunnelSpec

_DEPTH_MM = 1.0
"""Lines down a leg stand so far apart: a scribed line ends as near to the skin's edge."""

_LEAST_LINE = 2
_JUMP_MM = 5.0


@dataclass(frozen=True, eq=False)
class TunnelGround:
    """The tank a tunnel is laid out for, in its own axes.

    Attributes
    ----------
    skin : TriMesh
        The face that was scanned.
    guessed : (m,) bool
        Faces nobody scanned.
    bottom : TankBottom
    """

    skin: TriMesh
    guessed: BoolArray
    bottom: TankBottom


@dataclass(frozen=True, eq=False)
class EndScribe:
    """Where one end is scribed to the skin.

    Attributes
    ----------
    end : str
        "front" or "rear".
    lines : tuple of (j, 2) float, mm
        On the flat of the piece at that end: in parts where the tunnel runs out of an open place.
    on_skin : tuple of (j, 3) float, mm
        The same places in the tank's axes.
    short_mm : float
        By how much the flat ends short of the skin at the worst; 0 where it reaches.
    guessed : bool
        Whether any of it lies on skin nobody scanned.
    guessed_lines : tuple of (j, 2) float, mm
        Those parts of the lines.
    """

    end: str
    lines: tuple[FloatArray, ...]
    on_skin: tuple[FloatArray, ...]
    short_mm: float
    guessed: bool
    guessed_lines: tuple[FloatArray, ...] = ()


@dataclass(frozen=True, eq=False)
class StepPlate:
    """The flat plate between two pieces, as seen from the rear.

    Attributes
    ----------
    name : str
    at_mm : float
    outline : (k, 2) float, mm
        Closed: x to the right (the tank's right), y up from the foot line.
    corners : (4,) int
        The ends of its legs.
    """

    name: str
    at_mm: float
    outline: FloatArray
    corners: tuple[int, ...]

    def __post_init__(self) -> None:
        locked(self.outline)


@dataclass(frozen=True, eq=False)
class Tunnel:
    """A tunnel laid out.

    Attributes
    ----------
    spec : TunnelSpec
    sheet : TunnelSheet
    spans : tuple of Span
        With the ends as they came out.
    seat : TunnelSeat
    pieces : tuple of TunnelPiece
        From the rear ahead.
    plates : tuple of StepPlate
    scribes : tuple of EndScribe
        Empty without a tank.
    gaps : tuple of Gap
        To the tube first, then to the others.
    bend_radius_mm : float or None
        Of the corners, inside; None of a round top.
    in_tank : bool
        Whether it was laid out for a tank.
    bottom_reach_mm : (float, float) or None
        From where to where along the tunnel the tank's bottom is known.
    """

    spec: TunnelSpec
    sheet: TunnelSheet
    spans: tuple[Span, ...]
    seat: TunnelSeat
    pieces: tuple[TunnelPiece, ...]
    plates: tuple[StepPlate, ...]
    scribes: tuple[EndScribe, ...]
    gaps: tuple[Gap, ...]
    bend_radius_mm: float | None
    in_tank: bool
    bottom_reach_mm: tuple[float, float] | None

    @property
    def folded_off_mm(self) -> float:
        """How far any end is from what was asked for, once folded back up by numbers."""
        return max(piece.folded_off_mm for piece in self.pieces)

    @property
    def bent_too_tight(self) -> bool:
        """Whether the corners are bent tighter than the metal's least."""
        least = self.sheet.least_radius_mm
        radius = self.bend_radius_mm
        return radius is not None and least is not None and radius < least - 1e-9


def lay_tunnel(
    spec: TunnelSpec,
    sheet: TunnelSheet,
    ground: TunnelGround | None = None,
    *,
    report: Report = silent,
) -> Tunnel:
    """Return a tunnel laid flat, seated and held against what it goes over.

    Parameters
    ----------
    spec : TunnelSpec
    sheet : TunnelSheet
    ground : TunnelGround, optional
        The tank; without one the foot line is the bottom, and the ends are not scribed.
    report : Report

    Raises
    ------
    GeometryError
        Of one of the kinds in `tunnel_faults`.
    """
    checked_sizes(spec, sheet)
    report(0.0, "seating the tunnel")
    bottom = flat_bottom() if ground is None else ground.bottom
    rear, front, seat = fitted_ends(spec, bottom)
    if ground is not None:
        check_tube(spec, seat, ground.skin)
    spans = spans_of(spec, rear, front)
    forms = tuple(form_of(spec, span, sheet) for span in spans)
    if ground is not None:
        check_in_tank(spec, spans, seat, ground.skin, sheet.thickness_mm)
        check_sections(spans, forms, seat, ground.skin, ground.bottom, sheet_mm=sheet.thickness_mm)
    report(0.2, "laying the tunnel flat")
    half = half_foot_mm(spec, rear, front)
    seats = (seat, *positions(spec.place, bottom, spec.length_mm, half))
    pieces = _pieces(spec, sheet, spans, forms, Travel(seats, bottom, spec.run_out_mm))
    _check_legs(spec, pieces)
    report(0.6, "scribing the tunnel's ends")
    scribes = () if ground is None else _scribes(pieces, seat, ground)
    report(0.8, "measuring gaps")
    gaps = _gaps(spec, spans, forms, seat, _deepest(pieces))
    report(1.0, "tunnel laid out")
    return Tunnel(
        spec=spec,
        sheet=sheet,
        spans=spans,
        seat=seat,
        pieces=pieces,
        plates=_plates(spec, forms, pieces, sheet),
        scribes=scribes,
        gaps=gaps,
        bend_radius_mm=None if spec.is_round else bend_radius_mm(spec, sheet),
        in_tank=ground is not None,
        bottom_reach_mm=None if ground is None else ground.bottom.reach,
    )


def _pieces(
    spec: TunnelSpec,
    sheet: TunnelSheet,
    spans: Sequence[Span],
    forms: Sequence[Form],
    travel: Travel,
) -> tuple[TunnelPiece, ...]:
    return tuple(
        tunnel_piece(
            _name(at, len(spans)),
            span,
            form,
            sheet_mm=sheet.thickness_mm,
            reach_mm=_reach(spec, at, spans, sheet),
            travel=travel,
        )
        for at, (span, form) in enumerate(zip(spans, forms, strict=True))
    )


def _gaps(
    spec: TunnelSpec,
    spans: Sequence[Span],
    forms: Sequence[Form],
    seat: TunnelSeat,
    down_mm: float,
) -> tuple[Gap, ...]:
    """Return the gaps to the tube and the others, along the tunnel without its run-out."""
    bodies: list[RoundBody] = [*([spec.tube] if spec.tube else []), *spec.others]
    reached = [
        (form, (span.behind_mm, span.ahead_mm)) for form, span in zip(forms, spans, strict=True)
    ]
    return tunnel_gaps(reached, seat, bodies, spec.room.weld_pull_in, down_mm=down_mm)


def _name(at: int, count: int) -> str:
    return "tunnel" if count == 1 else f"tunnel piece {at + 1}"


def _reach(
    spec: TunnelSpec, at: int, spans: Sequence[Span], sheet: TunnelSheet
) -> tuple[float, float]:
    """Return from where to where a piece's metal goes: run-out at the ends, the plate at a step."""
    half = 0.5 * sheet.thickness_mm
    behind = spans[at].behind_mm + (half if at else -spec.run_out_mm)
    ahead = spans[at].ahead_mm + (spec.run_out_mm if at == len(spans) - 1 else -half)
    return behind, ahead


def _deepest(pieces: Sequence[TunnelPiece]) -> float:
    """Return how far down any leg goes at its middle cut-off."""
    return max(
        float(piece.net.downs_of(off.middle).max()) for piece in pieces for off in piece.cut_offs
    )


def _check_legs(spec: TunnelSpec, pieces: Sequence[TunnelPiece]) -> None:
    """Refuse legs that end above the bottom where their height and place are both given.

    Raises
    ------
    LegsShortError
        By more than the run-out.
    """
    if spec.place.foot_mm is None:
        return
    for piece in pieces:
        net = piece.net
        x = np.linspace(piece.span.behind_mm, piece.span.ahead_mm, len(piece.cut_offs[0].middle))
        top = net.leg_at(x, np.zeros(len(x)))
        foot = top[:, 2] / -net.leg[2]
        for off in piece.cut_offs:
            short = piece.down_to_bottom(off, x) - foot
            worst = int(np.argmax(short))
            if short[worst] > max(spec.run_out_mm, 1e-6):
                raise LegsShortError(float(short[worst]), float(x[worst]))


def _scribes(
    pieces: Sequence[TunnelPiece], seat: TunnelSeat, ground: TunnelGround
) -> tuple[EndScribe, ...]:
    return (
        _scribe(pieces[-1], "front", 1.0, seat, ground),
        _scribe(pieces[0], "rear", -1.0, seat, ground),
    )


def _scribe(
    piece: TunnelPiece, end: str, ahead: float, seat: TunnelSeat, ground: TunnelGround
) -> EndScribe:
    """Follow every ruling and lines down the legs from the piece's middle out through the skin."""
    middle = 0.5 * (piece.span.behind_mm + piece.span.ahead_mm)
    at, per_x, flat, flat_per_x, deep = _all_lines(piece)
    starts = seat.to_tank(at + middle * per_x)
    ways = seat.to_tank(at + (middle + ahead) * per_x) - starts
    lengths = np.linalg.norm(ways, axis=1)
    hits = first_through_skin(ground.skin, starts, ways / lengths[:, None])
    x = middle + ahead * hits.far_mm / lengths
    on_flat = flat + np.nan_to_num(x)[:, None] * flat_per_x
    on_skin = seat.to_tank(at + np.nan_to_num(x)[:, None] * per_x)
    past = piece.reach_mm[1] if ahead > 0.0 else piece.reach_mm[0]
    found = hits.found & (deep <= _cut_off_at(piece, at, x) + _DEPTH_MM)
    short = ahead * (x[found] - past) if found.any() else np.zeros(1)
    guessed = ground.guessed[np.maximum(hits.faces, 0)]
    runs = _of_the_end(found, starts, x)
    found = np.isin(np.arange(len(x)), np.concatenate([np.zeros(0, int), *runs]))
    guessed &= found
    return EndScribe(
        end=end,
        lines=tuple(on_flat[run] for run in runs),
        on_skin=tuple(on_skin[run] for run in runs),
        short_mm=max(0.0, float(short.max())),
        guessed=bool(guessed.any()),
        guessed_lines=tuple(on_flat[run] for run in _runs(guessed)),
    )


def _of_the_end(found: BoolArray, starts: FloatArray, x_mm: FloatArray) -> list[IntArray]:
    """Return the stretches of an end's line: the longest, and those that go on where it stops.

    A leg that runs out below a wall may meet a lip far from there: that is no end.

    Parameters
    ----------
    found : (k,) bool
    starts : (k, 3) float, mm
        Of the lines that were followed.
    x_mm : (k,) float
        Where each meets the skin.
    """

    def jumps(one: int, other: int) -> bool:
        apart = float(np.linalg.norm(starts[one] - starts[other]))
        return bool(abs(x_mm[one] - x_mm[other]) > 2.0 * apart + _JUMP_MM)

    parts = [
        part
        for run in _runs(found)
        for part in np.split(run, [k for k in range(1, len(run)) if jumps(run[k - 1], run[k])])
        if len(part) >= _LEAST_LINE
    ]
    longest = max(parts, key=len, default=np.zeros(0, np.int64))
    kept = []
    for part in parts:
        ends = (part[0], longest[-1]) if part[0] > longest[-1] else (part[-1], longest[0])
        if part is longest or not jumps(*ends):
            kept.append(part)
    return kept


def _cut_off_at(piece: TunnelPiece, at: FloatArray, x_mm: FloatArray) -> FloatArray:
    """Return (k,) how far down the leg the bottom is where lines (k, 3) meet the skin.

    What of the metal is lower is outside the tank: it may pass a lip, and is cut away.
    """
    x = np.nan_to_num(x_mm)
    left, right = (piece.down_to_bottom(off, x) for off in piece.cut_offs)
    return np.where(at[:, 1] > 0.0, left, right)


def _runs(kept: BoolArray) -> list[IntArray]:
    """Return the places of each stretch that is kept, long enough for a line."""
    at = np.flatnonzero(kept)
    runs = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    return [run for run in runs if len(run) >= _LEAST_LINE]


def _all_lines(
    piece: TunnelPiece,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return lines over the whole piece from the left leg's edge to the right's.

    In the tunnel at x = 0 and per x, and the same on the flat; and how far down a leg each is.
    Lines down a leg run along its top.
    """
    net = piece.net
    halves = []
    for off, (_, sign) in zip(piece.cut_offs, SIDES, strict=True):
        deepest = float(piece.net.downs_of(off.middle).max())
        downs = np.linspace(0.0, deepest, 1 + max(1, round(deepest / _DEPTH_MM)))[1:]
        mirror, flat_mirror = np.array([1.0, sign, 1.0]), np.array([sign, 1.0])
        at = np.concatenate([net.rulings.at, net.rulings.at[-1] + np.outer(downs, net.leg)])
        flat = np.concatenate([net.flat, net.flat[-1] + np.outer(downs, net.leg_flat)])
        repeated = np.append(np.arange(len(net.flat)), [len(net.flat) - 1] * len(downs))
        halves.append(
            (
                at * mirror,
                net.rulings.per_x[repeated] * mirror,
                flat * flat_mirror,
                net.flat_per_x[repeated] * flat_mirror,
                np.concatenate([np.zeros(len(net.flat)), downs]),
            )
        )
    left, right = halves
    at, per_x, flat, flat_per_x, deep = (
        np.concatenate([one[:0:-1], other]) for one, other in zip(left, right, strict=True)
    )
    return at, per_x, flat, flat_per_x, deep


def _plates(
    spec: TunnelSpec,
    forms: Sequence[Form],
    pieces: Sequence[TunnelPiece],
    sheet: TunnelSheet,
) -> tuple[StepPlate, ...]:
    """Return the plate of every step: to the outside of the larger, the inside of the smaller."""
    plates = []
    for at, step in enumerate(spec.steps):
        down = min(_foot(pieces[at], step.at_mm), _foot(pieces[at + 1], step.at_mm))
        inner = [_section(form, 0.0, step.at_mm, down) for form in forms[at : at + 2]]
        outer = [_section(f, sheet.thickness_mm, step.at_mm, down) for f in forms[at : at + 2]]
        for small, large in ((0, 1), (1, 0)):
            if Polygon(inner[large]).buffer(1e-6).covers(Polygon(outer[small])):
                outline = np.concatenate([outer[large], inner[small][::-1]])
                count = len(outer[large])
                corners = (0, count - 1, count, len(outline) - 1)
                plates.append(StepPlate(f"step plate {at + 1}", step.at_mm, outline, corners))
                break
        else:
            raise StepCrossesError(step.at_mm)
    return tuple(plates)


def _foot(piece: TunnelPiece, x_mm: float) -> float:
    """Return how low in the tunnel's frame a piece's legs go near x."""
    lowest = 0.0
    for off in piece.cut_offs:
        downs = piece.net.downs_of(off.cut)
        down = float(np.interp(x_mm, piece.reach_mm, downs))
        place = piece.net.leg_at(np.array([x_mm]), np.array([down]))[0]
        lowest = min(lowest, float(place[2]))
    return lowest


def _section(form: Form, offset_mm: float, x_mm: float, down_to_mm: float) -> FloatArray:
    """Return (k, 2) a piece's section as seen from the rear: left foot, over, right foot."""
    half = form.rulings(offset_mm, 65).points(x_mm)[:, 1:]
    foot = half[-1] + (down_to_mm - half[-1, 1]) / form.leg[2] * form.leg[1:]
    half = np.concatenate([half, foot[None]])
    seen = half * [-1.0, 1.0]  # the tank's left lies on the left
    return np.concatenate([seen[:0:-1], half[:1], half[1:]])

"""What is asked of a tunnel, checked and made whole: its ends, from numbers or from the tube."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.mesh import TriMesh
from geometry.tank.tunnel_faults import (
    BendTooTightError,
    NegativeClearanceError,
    OutsideTankError,
    TooLowForRoundError,
    TopTooNarrowError,
    TubeMissesTankError,
    TunnelEndsCrossError,
    TunnelEndsMissingError,
    TunnelSizeError,
    WiderThanTankError,
)
from geometry.tank.tunnel_form import FlatForm, Form, Span, flat_form, round_form
from geometry.tank.tunnel_inside import TankSection
from geometry.tank.tunnel_seat import TankBottom, TunnelSeat, seated
from geometry.tank.tunnel_spec import RoundBody, TunnelEnd, TunnelSpec

_MOST_FLARE_RAD = np.radians(60.0)
_WITHIN_ENDS_MM = 10.0
_LEAST_AHEAD = 0.5
"""A tube less along the tank than this, of its own length, does not run through a tunnel."""

_FITTINGS = 12


@dataclass(frozen=True)
class TunnelSheet:
    """The metal a tunnel is made of.

    Attributes
    ----------
    name : str
    thickness_mm : float
    least_radius_mm : float or None
        The least inside radius of a cold right-angled bend; None where it is not known.
    """

    name: str
    thickness_mm: float
    least_radius_mm: float | None = None


def checked_sizes(spec: TunnelSpec, sheet: TunnelSheet) -> None:
    """Refuse numbers no tunnel can have.

    Raises
    ------
    TunnelSizeError, NegativeClearanceError, TunnelEndsCrossError, TunnelEndsMissingError
    """
    for what, value in _lengths(spec, sheet):
        if not (np.isfinite(value) and value > 0.0):
            raise TunnelSizeError(what, value)
    if spec.bend_ratio is not None and not spec.bend_ratio >= 0.0:
        raise TunnelSizeError("least bend radius of the metal", spec.bend_ratio)
    if not spec.run_out_mm >= 0.0:
        raise TunnelSizeError("run-out", spec.run_out_mm)
    if not 0.0 <= spec.flare_rad < _MOST_FLARE_RAD:
        raise TunnelSizeError("flare of the legs", float(np.degrees(spec.flare_rad)))
    for what, value in (("fore and aft", spec.place.fore_aft_mm), ("up", spec.place.up_down_mm)):
        if not value >= 0.0:
            raise TunnelSizeError(f"travel {what}", value)
    for name, room in spec.room.lines:
        if min(room.over_mm, room.side_mm) < 0.0:
            raise NegativeClearanceError(name, min(room.over_mm, room.side_mm))
    places = [0.0, *(step.at_mm for step in spec.steps), spec.length_mm]
    names = ["the rear end", *(f"step {k + 1}" for k in range(len(spec.steps))), "the front end"]
    for at in range(1, len(places)):
        if not places[at] > places[at - 1] + 2.0 * sheet.thickness_mm:
            raise TunnelEndsCrossError(names[at - 1], names[at], places[at] - places[at - 1])
    if spec.tube is None and (spec.front is None or spec.rear is None):
        raise TunnelEndsMissingError


def _lengths(spec: TunnelSpec, sheet: TunnelSheet) -> Iterator[tuple[str, float]]:
    """Yield every length that has to be more than nothing."""
    if spec.length_mm <= 0.0:
        raise TunnelEndsCrossError("the rear end", "the front end", spec.length_mm)
    yield "length", spec.length_mm
    yield "thickness of the sheet", sheet.thickness_mm
    if spec.top == "flat":
        yield "corner radius", spec.corner_radius_mm
    if spec.bend_radius_mm is not None:
        yield "bend radius", spec.bend_radius_mm
    ends = [("front end", spec.front), ("rear end", spec.rear)]
    for at, step in enumerate(spec.steps, start=1):
        ends += [
            (f"piece behind step {at}", step.behind),
            (f"piece ahead of step {at}", step.ahead),
        ]
    for name, end in ends:
        if end is not None:
            yield f"height of the {name}", end.height_mm
            yield f"width of the {name}", end.width_mm
    for body in (*([spec.tube] if spec.tube else []), *spec.others):
        yield f"diameter of {body.name}", body.diameter_mm
        long = float(np.linalg.norm(np.subtract(body.end_mm, body.start_mm)))
        yield f"length of {body.name}", long


def bend_radius_mm(spec: TunnelSpec, sheet: TunnelSheet) -> float:
    """Return the inside radius of the corners: of a flat top its own, else of a fold.

    Raises
    ------
    BendTooTightError
        Below the metal's least, and not meant to be.
    """
    least = sheet.least_radius_mm
    if spec.top == "flat":
        radius = spec.corner_radius_mm
    elif spec.bend_radius_mm is not None:
        radius = spec.bend_radius_mm
    else:
        radius = max(sheet.thickness_mm, least or 0.0)
    if least is not None and radius < least - 1e-9 and not spec.tighter_bend:
        raise BendTooTightError(radius, least, sheet.name)
    return radius


def fitted_ends(spec: TunnelSpec, bottom: TankBottom) -> tuple[TunnelEnd, TunnelEnd, TunnelSeat]:
    """Return rear and front end, and where the foot line lies.

    Ends that are not given follow the tube: the crown lies the sum of clearances over it, square to
    it, and the legs the sum beside it where it stands furthest from the middle.
    """
    rear, front = spec.rear, spec.front
    if rear is not None and front is not None:
        return rear, front, _seat(spec, bottom, rear, front)
    tube = spec.tube
    if tube is None:
        raise TunnelEndsMissingError
    guess = TunnelEnd(1.0, tube.diameter_mm + 2.0 * spec.room.total.side_mm)
    ends = rear or guess, front or guess
    for _ in range(_FITTINGS):
        seat = _seat(spec, bottom, *ends)
        found = _over_tube(spec, tube, seat)
        ends = rear or found[0], front or found[1]
    return ends[0], ends[1], _seat(spec, bottom, *ends)


def half_foot_mm(spec: TunnelSpec, rear: TunnelEnd, front: TunnelEnd) -> float:
    """Return how far from the middle the legs end, as a mean."""
    lean = np.tan(spec.flare_rad)
    return float(np.mean([0.5 * end.width_mm + lean * end.height_mm for end in (rear, front)]))


def _seat(spec: TunnelSpec, bottom: TankBottom, rear: TunnelEnd, front: TunnelEnd) -> TunnelSeat:
    return seated(spec.place, bottom, spec.length_mm, half_foot_mm(spec, rear, front))


def _over_tube(spec: TunnelSpec, tube: RoundBody, seat: TunnelSeat) -> tuple[TunnelEnd, TunnelEnd]:
    """Return the ends a tube and its clearances ask for, rear and front."""
    axis = seat.from_tank(np.array([tube.start_mm, tube.end_mm]))
    way = axis[1] - axis[0]
    if abs(way[0]) < _LEAST_AHEAD * np.linalg.norm(way):
        raise TubeMissesTankError(*tube.start_mm)
    way = way / way[0]
    total, radius = spec.room.total, 0.5 * tube.diameter_mm
    ends = []
    for x in (0.0, spec.length_mm):
        place = axis[0] + (x - axis[0, 0]) * way
        over = (radius + total.over_mm) * float(np.hypot(1.0, way[2]))
        beside = (radius + total.side_mm) * float(np.hypot(1.0, way[1]))
        ends.append(TunnelEnd(float(place[2]) + over, 2.0 * (abs(float(place[1])) + beside)))
    return ends[0], ends[1]


def spans_of(spec: TunnelSpec, rear: TunnelEnd, front: TunnelEnd) -> tuple[Span, ...]:
    """Return the pieces from the rear ahead, one more than there are steps."""
    behind = [rear, *(step.ahead for step in spec.steps)]
    ahead = [*(step.behind for step in spec.steps), front]
    places = [0.0, *(step.at_mm for step in spec.steps), spec.length_mm]
    names = ["rear end", *(f"step {k + 1}" for k in range(len(spec.steps))), "front end"]
    return tuple(
        Span(places[k], places[k + 1], behind[k], ahead[k], (names[k], names[k + 1]))
        for k in range(len(behind))
    )


def form_of(spec: TunnelSpec, span: Span, sheet: TunnelSheet) -> Form:
    """Return a piece's faces.

    Raises
    ------
    TooMuchTaperError, TopTooNarrowError, TooLowForRoundError
    """
    form: Form
    if spec.is_round:
        form = round_form(span, spec.flare_rad)
    else:
        form = flat_form(span, spec.flare_rad, bend_radius_mm(spec, sheet))
    out = spec.run_out_mm
    inside = form.rulings(0.0, 5)
    for x, end, name in (
        (span.behind_mm, span.behind, span.names[0]),
        (span.ahead_mm, span.ahead, span.names[1]),
    ):
        lowest = float(inside.points(x)[-1, 2])
        if lowest < -1e-6:
            raise TooLowForRoundError(name, end.height_mm, end.height_mm - lowest)
        past = x - out if x == span.behind_mm else x + out
        if isinstance(form, FlatForm):
            for at, where in ((x, name), (past, f"run-out past the {name}")):
                wide = span.width_at(at)
                corner = 0.5 * wide - float(inside.points(at)[1, 1])
                if 0.5 * wide <= corner:
                    raise TopTooNarrowError(where, wide, 2.0 * corner)
        elif span.width_at(past) <= 0.0:
            raise TunnelSizeError(f"width past the {name}", span.width_at(past))
    return form


def check_in_tank(
    spec: TunnelSpec, spans: tuple[Span, ...], seat: TunnelSeat, skin: TriMesh, sheet_mm: float
) -> None:
    """Refuse a tunnel that lies before or behind its tank, or an end wider than the tank there.

    Raises
    ------
    OutsideTankError, WiderThanTankError
    """
    used = skin.vertices[np.unique(skin.faces)]
    low, high = float(used[:, 0].min()), float(used[:, 0].max())
    middle = float(seat.to_tank(np.array([0.5 * spec.length_mm, 0.0, 0.0]))[0])
    if not low < middle < high:
        raise OutsideTankError(middle, high - low)
    first, last = spans[0], spans[-1]
    for x, width, name in (
        (0.0, first.behind.width_mm, "rear end"),
        (spec.length_mm, last.ahead.width_mm, "front end"),
    ):
        at = _ahead(seat, x, low, high)
        right, left, _, _ = TankSection.at(skin, at).box
        tank = left - right
        if width + 2.0 * sheet_mm >= tank:
            raise WiderThanTankError(name, width + 2.0 * sheet_mm, tank)


def check_tube(spec: TunnelSpec, seat: TunnelSeat, skin: TriMesh) -> None:
    """Refuse a tube that does not run through the tank where the tunnel is.

    Raises
    ------
    TubeMissesTankError
    """
    tube = spec.tube
    if tube is None:
        return
    used = skin.vertices[np.unique(skin.faces)]
    low, high = float(used[:, 0].min()), float(used[:, 0].max())
    ends = sorted((tube.start_mm, tube.end_mm))
    if ends[1][0] < low or ends[0][0] > high:
        raise TubeMissesTankError(*(ends[1] if ends[1][0] < low else ends[0]))
    for share in (0.1, 0.5, 0.9):
        _check_tube(tube, skin, _ahead(seat, share * spec.length_mm, low, high))


def _ahead(seat: TunnelSeat, x_mm: float, low: float, high: float) -> float:
    """Return where in the tank x of the tunnel is, kept a little inside its ends."""
    at = float(seat.to_tank(np.array([x_mm, 0.0, 0.0]))[0])
    return float(np.clip(at, low + _WITHIN_ENDS_MM, high - _WITHIN_ENDS_MM))


def _check_tube(tube: RoundBody, skin: TriMesh, at: float) -> None:
    start, way = np.array(tube.start_mm), np.subtract(tube.end_mm, tube.start_mm)
    if abs(way[0]) < _LEAST_AHEAD * np.linalg.norm(way):
        raise TubeMissesTankError(at, float(start[1]), float(start[2]))
    place = start + (at - start[0]) / way[0] * way
    right, left, _, high = TankSection.at(skin, at).box
    inside = right < place[1] < left and place[2] < high
    lowest = float(skin.vertices[np.unique(skin.faces), 2].min())
    if not inside or place[2] + 0.5 * tube.diameter_mm < lowest:
        raise TubeMissesTankError(at, float(place[1]), float(place[2]))

"""One flat piece of a tunnel with all that is marked on it: outline, bends, cut-off, scribe lines.

The flat lies as seen from the tube's side: y ahead, x towards the tank's left.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.tank.tunnel_faults import BottomAboveLegsError
from geometry.tank.tunnel_fold import folded_end
from geometry.tank.tunnel_form import Form, Span
from geometry.tank.tunnel_net import HalfNet, half_net
from geometry.tank.tunnel_seat import TankBottom, TunnelSeat, cut_off_down

_ALONG = 61
_ROLL_STEP_RAD = np.radians(30.0)
_FOLD_RULINGS = 17

SIDES = (("left", 1.0), ("right", -1.0))


@dataclass(frozen=True, eq=False)
class Travel:
    """What decides where legs are cut.

    Attributes
    ----------
    seats : tuple of TunnelSeat
        Where the tunnel is drawn to sit, then where it may end up.
    bottom : TankBottom
    run_out_mm : float
        Metal below the lowest cut-off.
    """

    seats: tuple[TunnelSeat, ...]
    bottom: TankBottom
    run_out_mm: float


@dataclass(frozen=True, eq=False)
class BendLine:
    """A line to bend along, or the lines between which to roll.

    Attributes
    ----------
    points : (2, 2) float, mm
        On the flat, from the rear ahead: the middle of a fold, the crown line of a roll.
    starts, ends : (2, 2) float, mm
        The tangent lines: between them the metal is curved.
    angle_rad : float
        How far it is turned, towards who looks at the flat: UP.
    inside_radius_mm : (float, float)
        At the piece's rear and front end as asked for, run-out left out; the same of a fold.
    rolled : bool
    take_mm : float or None
        Flat sheet between the tangent lines, where the same all along.
    """

    points: FloatArray
    starts: FloatArray
    ends: FloatArray
    angle_rad: float
    inside_radius_mm: tuple[float, float]
    rolled: bool
    take_mm: float | None


@dataclass(frozen=True, eq=False)
class CutOff:
    """Where one leg may meet the tank's bottom.

    Attributes
    ----------
    side : str
        "left" or "right" of the tank.
    middle, highest, lowest : (k, 2) float, mm
        On the flat, from the rear ahead: where it is drawn to sit, and the band it may end up in.
    cut : (2, 2) float, mm
        The leg's edge, a straight line the run-out below the lowest.
    guessed_mm : tuple of (float, float)
        From where to where along the tunnel, from its rear end, the bottom there was not scanned.
    """

    side: str
    middle: FloatArray
    highest: FloatArray
    lowest: FloatArray
    cut: FloatArray
    guessed_mm: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, eq=False)
class TunnelPiece:
    """One piece of a tunnel, flat.

    Attributes
    ----------
    name : str
    span : Span
    form : Form
    net : HalfNet
        Of the tank's left half; the right is its mirror image, down to where the bottom is.
    reach_mm : (float, float)
        From where to where along the tunnel its metal goes, run-out in it.
    outline : (k, 2) float, mm
        Closed, the first point not repeated.
    corners : (4,) int
        Of the outline: where ends and legs' edges meet.
    centre : (2, 2) float, mm
    bends : tuple of BendLine
        Left, then right; of a rolled top one.
    cut_offs : tuple of CutOff
        Left and right.
    folded_off_mm : float
        How far the inside of its ends is from where it is meant to be, once the flat is folded back
        up by numbers alone.
    """

    name: str
    span: Span
    form: Form
    net: HalfNet
    reach_mm: tuple[float, float]
    outline: FloatArray
    corners: IntArray
    centre: FloatArray
    bends: tuple[BendLine, ...]
    cut_offs: tuple[CutOff, ...]
    folded_off_mm: float

    def __post_init__(self) -> None:
        locked(self.outline)
        locked(self.corners)

    def down_to_bottom(self, off: CutOff, x_mm: FloatArray) -> FloatArray:
        """Return (k,) how far down a leg, at x, the bottom lies by the middle of its cut-off."""
        x_cut = np.linspace(*self.reach_mm, len(off.middle))
        return np.asarray(np.interp(x_mm, x_cut, self.net.downs_of(off.middle)))


def tunnel_piece(
    name: str,
    span: Span,
    form: Form,
    *,
    sheet_mm: float,
    reach_mm: tuple[float, float],
    travel: Travel,
) -> TunnelPiece:
    """Return a piece laid flat and marked.

    Parameters
    ----------
    name : str
    span : Span
    form : Form
    sheet_mm : float
    reach_mm : (float, float)
    travel : Travel

    Raises
    ------
    BottomAboveLegsError
    """
    net = half_net(form, sheet_mm)
    cut_offs = tuple(_cut_off(net, span, side, reach_mm, travel) for side in SIDES)
    outline, corners = _outline(net, reach_mm, cut_offs)
    return TunnelPiece(
        name=name,
        span=span,
        form=form,
        net=net,
        reach_mm=reach_mm,
        outline=outline,
        corners=corners,
        centre=np.array([net.flat_at(x)[0] for x in reach_mm]),
        bends=_bends(net, span, reach_mm),
        cut_offs=cut_offs,
        folded_off_mm=_folded_off(form, span, sheet_mm),
    )


def _cut_off(
    net: HalfNet,
    span: Span,
    side: tuple[str, float],
    reach_mm: tuple[float, float],
    travel: Travel,
) -> CutOff:
    """Return a leg's band, and the straight edge the run-out below the lowest of it."""
    name, sign = side
    x = np.linspace(*reach_mm, _ALONG)
    downs = np.array([cut_off_down(net, seat, travel.bottom, sign, x) for seat in travel.seats])
    within = (x >= span.behind_mm) & (x <= span.ahead_mm)
    worst = int(np.argmin(np.where(within, downs[0], np.inf)))
    if downs[0, worst] < -1e-6:
        raise BottomAboveLegsError(float(x[worst]), float(-downs[0, worst]))
    mirror = np.array([sign, 1.0])
    middle, highest, lowest = (
        net.leg_flat_at(x, down) * mirror for down in (downs[0], downs.min(0), downs.max(0))
    )
    along = lowest[-1] - lowest[0]
    along = along / np.linalg.norm(along)
    outward = sign * np.array([along[1], -along[0]])
    far = float((lowest @ outward).max()) + travel.run_out_mm
    ends = []
    for end_mm in reach_mm:
        top = net.leg_flat_at(np.array([end_mm]), np.zeros(1))[0] * mirror
        way = net.leg_flat * mirror
        ends.append(top + (far - top @ outward) / (way @ outward) * way)
    guessed = _guessed(net, x, downs[0], sign, travel)
    return CutOff(name, middle, highest, lowest, np.array(ends), guessed)


def _guessed(
    net: HalfNet, x: FloatArray, down: FloatArray, sign: float, travel: Travel
) -> tuple[tuple[float, float], ...]:
    """Return the stretches along which the bottom is guessed wherever the tunnel may end up."""
    half = 0.5 * float(x[1] - x[0])
    places = net.leg_at(x, down) * [1.0, sign, 1.0]
    found = np.zeros(len(x), bool)
    for seat in travel.seats:
        found |= travel.bottom.is_guessed(seat.to_tank(places)[:, 0], half)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], found, [False]])))
    return tuple(
        (max(float(x[a]) - half, float(x[0])), min(float(x[b - 1]) + half, float(x[-1])))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    )


def _outline(
    net: HalfNet, reach_mm: tuple[float, float], cut_offs: Sequence[CutOff]
) -> tuple[FloatArray, IntArray]:
    """Return the outline from the rear of the left leg's edge on, counter-clockwise."""
    left, right = cut_offs
    mirror = np.array([-1.0, 1.0])
    edges = []
    for x in reach_mm:
        half = net.flat_at(x)
        edges.append(np.concatenate([half[:0:-1], half[:1], half[1:] * mirror]))  # left to right
    rear, front = edges
    parts = [left.cut, front, right.cut[::-1], rear[::-1]]
    count = np.cumsum([0, *(len(part) for part in parts)])
    corners = np.array([0, 1, count[2], count[2] + 1])
    return np.concatenate(parts), corners


def _bends(net: HalfNet, span: Span, reach_mm: tuple[float, float]) -> tuple[BendLine, ...]:
    """Return the folds on both sides, or the one roll over the top."""
    rear, front = (net.flat_at(x) for x in reach_mm)
    first, last = net.first_bent, len(rear) - 1
    mirror = np.array([-1.0, 1.0])
    radii = net.radius_at(span.behind_mm), net.radius_at(span.ahead_mm)
    end = np.stack([rear[last], front[last]])
    if first == 0:
        crown = np.stack([rear[0], front[0]])
        whole = None if net.take_mm is None else 2.0 * net.take_mm
        roll = BendLine(crown, end * mirror, end, 2.0 * net.bend_rad, radii, True, whole)
        return (roll,)
    start = np.stack([rear[first], front[first]])
    middle = 0.5 * (start + end)
    return tuple(
        BendLine(middle * m, start * m, end * m, net.bend_rad, radii, False, net.take_mm)
        for m in (np.ones(2), mirror)
    )


def guessed_bands(piece: TunnelPiece) -> tuple[tuple[FloatArray, FloatArray], ...]:
    """Return the stretches of the cut-off bands over guessed skin, on the flat.

    Of each its highest and its lowest line, (j, 2) both, from the rear ahead.
    """
    found = []
    for off in piece.cut_offs:
        x = np.linspace(*piece.reach_mm, len(off.middle))
        for start, end in off.guessed_mm:
            at = np.concatenate([[start], x[(x > start) & (x < end)], [end]])
            high, low = (
                np.column_stack([np.interp(at, x, line[:, axis]) for axis in (0, 1)])
                for line in (off.highest, off.lowest)
            )
            found.append((high, low))
    return tuple(found)


def roll_lines(piece: TunnelPiece) -> tuple[FloatArray, ...]:
    """Return rulings (2, 2) of a rolled top on the flat, about 30 degrees apart, crown left out."""
    net = piece.net
    if net.first_bent != 0:
        return ()
    share = np.arange(_ROLL_STEP_RAD, net.bend_rad - 0.1, _ROLL_STEP_RAD) / net.bend_rad
    rows = np.round(share * (len(net.flat) - 1)).astype(int)
    rear, front = (net.flat_at(x) for x in piece.reach_mm)
    lines = [np.stack([rear[row], front[row]]) for row in rows]
    return tuple(line * np.array([sign, 1.0]) for sign in (1.0, -1.0) for line in lines)


def _folded_off(form: Form, span: Span, sheet_mm: float) -> float:
    """Return how far the folded flat's ends are from the inside face the ends ask for."""
    net = half_net(form, sheet_mm, _FOLD_RULINGS)
    inside = form.rulings(0.5 * sheet_mm, _FOLD_RULINGS)
    worst = 0.0
    for x, end in ((span.behind_mm, span.behind), (span.ahead_mm, span.ahead)):
        down = np.array([0.0, 0.5, 1.0]) * end.height_mm
        folded = folded_end(net, sheet_mm, x, down)
        top = inside.points(x) - 0.5 * sheet_mm * inside.normals
        leg = top[-1] + np.outer(down, form.leg)
        worst = max(
            worst,
            float(np.linalg.norm(folded.top - top, axis=1).max()),
            float(np.linalg.norm(folded.leg - leg, axis=1).max()),
        )
    return worst

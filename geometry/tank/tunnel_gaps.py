"""How near the tunnel's inside comes to the tube and to whatever else runs under it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.tank.tunnel_form import Form, Rulings
from geometry.tank.tunnel_seat import TunnelSeat
from geometry.tank.tunnel_spec import Place, Room, RoundBody

PARTS = ("crown", "left side", "right side")

_TOP_LINES = 361
_LEG_LINES = 301
_SEARCHES = 60
_GOLDEN = 0.5 * (np.sqrt(5.0) - 1.0)


@dataclass(frozen=True)
class Gap:
    """The least gap between one part of the tunnel and one body.

    Attributes
    ----------
    body : str
    part : str
        "crown": the line of a round top, the whole of a flat one; "left side" or "right side": all
        the rest of the tank's left or right half, leg and corner.
    before_mm, after_mm : float
        Before and after weld pull-in; below 0 where they would touch.
    at : (x, y, z), mm
        On the tunnel before, in the tank's axes.
    """

    body: str
    part: str
    before_mm: float
    after_mm: float
    at: Place


def body_gap(points: FloatArray, body: RoundBody) -> FloatArray:
    """Return how far (..., 3) places are outside a round body with flat ends; inside, below 0.

    >>> bar = RoundBody("bar", (0.0, 0.0, 0.0), (10.0, 0.0, 0.0), 4.0)
    >>> body_gap(np.array([[5.0, 0, 5], [13, 0, 0], [13, 6, 0], [5, 0, 1]]), bar).tolist()
    [3.0, 3.0, 5.0, -1.0]
    """
    start, end = np.array(body.start_mm), np.array(body.end_mm)
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length
    from_middle = points - 0.5 * (start + end)
    along = from_middle @ axis
    beside = np.linalg.norm(from_middle - along[..., None] * axis, axis=-1)
    out = np.stack([np.abs(along) - 0.5 * length, beside - 0.5 * body.diameter_mm])
    outside = np.linalg.norm(np.maximum(out, 0.0), axis=0)
    return np.asarray(outside + np.minimum(out.max(axis=0), 0.0))


def tunnel_gaps(
    forms: Sequence[tuple[Form, tuple[float, float]]],
    seat: TunnelSeat,
    bodies: Sequence[RoundBody],
    pull_in: Room,
    *,
    down_mm: float,
) -> tuple[Gap, ...]:
    """Return the least gap of every body to each part of the tunnel.

    The distance to a body without hollows has one least place along a straight line: it is sought
    on each of many rulings. Pulled in, a face goes in by the sides' share of the pull where it
    stands upright, and down by the other where it lies flat.

    Parameters
    ----------
    forms : sequence of (form, (behind, ahead))
        The pieces and where along the tunnel they reach.
    seat : TunnelSeat
    bodies : sequence of RoundBody
    pull_in : Room
    down_mm : float
        How far down from their tops legs are looked at.
    """
    found = []
    for body in bodies:
        for part in PARTS:
            nearest = [
                _least(_lines(form, part, down_mm), reach, seat, body, pull_in)
                for form, reach in forms
            ]
            before, place, _ = min(nearest, key=lambda each: each[0])
            after = min(each[2] for each in nearest)
            found.append(Gap(body.name, part, before, after, place))
    return tuple(found)


def _lines(form: Form, part: str, down_mm: float) -> Rulings:
    """Return the straight lines of one part, in the tunnel's frame."""
    half = form.rulings(0.0, _TOP_LINES)
    if part == "crown":
        return _crown(half)
    down = np.linspace(0.0, down_mm, _LEG_LINES)[1:]
    leg = half.at[-1] + np.outer(down, form.leg)
    side = np.array([1.0, 1.0 if part == "left side" else -1.0, 1.0])
    repeated = np.append(np.arange(1, len(half.at)), [len(half.at) - 1] * len(down))
    at = np.concatenate([half.at[1:], leg])
    return Rulings(
        at * side, half.per_x[repeated] * side, half.normals[repeated] * side, np.zeros(len(at))
    )


def _crown(half: Rulings) -> Rulings:
    """Return the crown line of a round top, evenly spread lines of a flat one, both halves."""
    if not np.allclose(half.normals[0], half.normals[1], atol=1e-12):
        return Rulings(half.at[:1], half.per_x[:1], half.normals[:1], np.zeros(1))
    share = np.linspace(-1.0, 1.0, 2 * _TOP_LINES + 1)
    mirrored = np.sign(share)[:, None]
    far = np.abs(share)[:, None]
    at = (1.0 - far) * half.at[0] + far * half.at[1]
    per_x = (1.0 - far) * half.per_x[0] + far * half.per_x[1]
    flip = np.concatenate([np.ones_like(mirrored), mirrored, np.ones_like(mirrored)], axis=1)
    return Rulings(
        at * flip, per_x * flip, np.tile(half.normals[0], (len(at), 1)), np.zeros(len(at))
    )


def _least(
    lines: Rulings, reach: tuple[float, float], seat: TunnelSeat, body: RoundBody, pull_in: Room
) -> tuple[float, Place, float]:
    """Return the least gap, where it is, and the least gap once pulled in."""
    gap, x = _searched(lines.at, lines.per_x, reach, seat, body)
    best = int(np.argmin(gap))
    place = seat.to_tank(lines.at[best] + x[best] * lines.per_x[best])
    moved = -lines.normals * [0.0, pull_in.side_mm, pull_in.over_mm]
    after, _ = _searched(lines.at + moved, lines.per_x, reach, seat, body)
    found = (float(place[0]), float(place[1]), float(place[2]))
    return float(gap[best]), found, float(after.min())


def _searched(
    at: FloatArray, per_x: FloatArray, reach: tuple[float, float], seat: TunnelSeat, body: RoundBody
) -> tuple[FloatArray, FloatArray]:
    """Return each line's least gap and the x it has there, by golden sections."""

    def gap_at(x: FloatArray) -> FloatArray:
        return body_gap(seat.to_tank(at + x[:, None] * per_x), body)

    low, high = (np.full(len(at), end) for end in reach)
    for _ in range(_SEARCHES):
        one, other = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        nearer = gap_at(one) < gap_at(other)
        low, high = np.where(nearer, low, one), np.where(nearer, other, high)
    middle = 0.5 * (low + high)
    return gap_at(middle), middle

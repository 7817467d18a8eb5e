"""Whether a tunnel stays inside its tank: every section's outside against the tank's own there."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, section
from geometry.tank.tunnel_faults import AboveSkinError, WiderThanTankError
from geometry.tank.tunnel_form import Form, Span
from geometry.tank.tunnel_piece import SIDES
from geometry.tank.tunnel_seat import TankBottom, TunnelSeat

_APART_MM = 8.0
"""Sections are looked at so far apart, and at both ends of every piece."""

_END_SHARE = 0.15
"""So much of the length at either end may run out through the skin: it is scribed there."""

_RULINGS = 9
_DOWN_LEG = (0.25, 0.5, 0.75, 0.95)
"""How far down a leg, of its way to the bottom, it is looked at."""


def check_sections(
    spans: Sequence[Span],
    forms: Sequence[Form],
    seat: TunnelSeat,
    skin: TriMesh,
    bottom: TankBottom,
    *,
    sheet_mm: float,
) -> None:
    """Refuse a tunnel that runs out through the roof or a side of its tank.

    A place is inside where skin stands farther out on its own side, or passes over it an odd
    number of times: level lines are not misled by a hole in the roof nor by the recess of an old
    tunnel that was scanned with its tank, upright ones not by a torn edge.

    Parameters
    ----------
    spans, forms : sequences, one for each piece
    seat : TunnelSeat
    skin : TriMesh
        Its outside, tank axes, mm.
    bottom : TankBottom
    sheet_mm : float

    Raises
    ------
    AboveSkinError, WiderThanTankError
    """
    whole = spans[-1].ahead_mm - spans[0].behind_mm
    first = spans[0].behind_mm + _END_SHARE * whole
    last = spans[-1].ahead_mm - _END_SHARE * whole
    turned = TriMesh(seat.from_tank(skin.vertices), skin.faces)
    for span, form in zip(spans, forms, strict=True):
        behind, ahead = max(span.behind_mm, first), min(span.ahead_mm, last)
        if behind >= ahead:
            continue
        for x in np.linspace(behind, ahead, 2 + int((ahead - behind) / _APART_MM)).tolist():
            tank = TankSection.at(turned, x)
            half = _outside(form, seat, bottom, x, sheet_mm)
            for _, sign in SIDES:
                _check(tank, half * [sign, 1.0], x, f"place {round(x)} mm ahead of its rear end")


@dataclass(frozen=True, eq=False)
class TankSection:
    """What a plane cuts of the skin, seen from the rear: starts and ends (k, 2) of its pieces."""

    starts: FloatArray
    ends: FloatArray

    @classmethod
    def at(cls, skin: TriMesh, x_mm: float) -> "TankSection":
        """Return what the upright plane at x cuts of a skin."""
        reach = skin.vertices[:, 0][skin.faces]
        met = (reach.min(axis=1) <= x_mm) & (reach.max(axis=1) >= x_mm)
        near = TriMesh(skin.vertices, skin.faces[met])
        lines = section(near, np.array([x_mm, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
        empty = [np.empty((0, 2))]
        return cls(
            np.concatenate([line[:-1, 1:] for line in lines] or empty),
            np.concatenate([line[1:, 1:] for line in lines] or empty),
        )

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least and most y, least and most z."""
        places = np.concatenate([self.starts, self.ends])
        (right, low), (left, high) = places.min(axis=0).tolist(), places.max(axis=0).tolist()
        return right, left, low, high

    def crossings(self, place: FloatArray, axis: int) -> FloatArray:
        """Return where the line through a place along y (0) or z (1) meets the skin."""
        other = 1 - axis
        a, b = self.starts[:, other] - place[other], self.ends[:, other] - place[other]
        met = (a > 0.0) != (b > 0.0)
        share = a[met] / (a[met] - b[met])
        way = self.ends[met, axis] - self.starts[met, axis]
        return np.asarray(self.starts[met, axis] + share * way)

    def holds(self, place: FloatArray) -> bool:
        """Return whether a place lies within the skin, or in an old tunnel's recess."""
        above = int((self.crossings(place, 1) > place[1]).sum())
        level = self.crossings(place, 0)
        farther = level > place[0] if place[0] >= 0.0 else level < place[0]
        return bool(farther.any()) or above % 2 == 1


def _check(tank: TankSection, outside: FloatArray, x_mm: float, where: str) -> None:
    """Refuse a section (k, 2) of which a place lies outside the tank's."""
    inside: BoolArray = np.array([tank.holds(place) for place in outside])
    if inside.all() or not len(tank.starts):
        return
    y, z = outside[np.argmin(inside)].tolist()
    roof = tank.crossings(np.array([y, z]), 1)
    if not (roof > z).any() and (abs(y) < 1e-9 or len(roof)):
        skin = float(roof.max()) if len(roof) else float(tank.starts[:, 1].max())
        raise AboveSkinError(x_mm, z, skin)
    level = tank.crossings(np.array([y, z]), 0)
    left, right = level[level > 0.0], level[level < 0.0]
    wide = float(left.min() - right.max()) if len(left) and len(right) else 0.0
    raise WiderThanTankError(where, 2.0 * abs(y), wide)


def _outside(
    form: Form, seat: TunnelSeat, bottom: TankBottom, x_mm: float, sheet_mm: float
) -> FloatArray:
    """Return places (k, 2) of a section's outside, from the crown down its left leg."""
    half = form.rulings(sheet_mm, _RULINGS).points(x_mm)
    place = seat.to_tank(half[-1:])
    floor = float(bottom.height(place[:, 0], place[:, 1])[0])
    down = max(0.0, float(place[0, 2]) - floor) / -form.leg[2]
    leg = half[-1] + np.outer(_DOWN_LEG, down * form.leg)
    return np.asarray(np.concatenate([half, leg])[:, 1:])

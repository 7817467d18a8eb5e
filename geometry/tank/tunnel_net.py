"""The true development of one piece of a tunnel: its rulings laid flat, middle of the metal.

A right circular cone rolls out into a sector of its own rulings, a cylinder into a strip of its own
arc; a plane stays as it is; a fold takes as much sheet as `geometry.metal.bend_zone_mm` says. The
flat lies as seen from the tube's side: y ahead, x towards the tank's left.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.metal import bend_zone_mm
from geometry.tank.tunnel_form import FlatForm, Form, RoundForm, Rulings

FOLDED_UP_TO = 5.0
"""Inside radius over thickness up to which a bend's flat is shorter than its middle. Source:
[din6935], k = 1 beyond r / s = 5."""


@dataclass(frozen=True, eq=False)
class HalfNet:
    """The left half of a piece, in the tunnel and flat, from its crown to down its leg.

    Attributes
    ----------
    rulings : Rulings
        In the tunnel, middle of the metal; the first is the crown line, the last the leg's top.
    flat : (k, 2) float, mm
        Where the rulings lie flat at x = 0.
    flat_per_x : (k, 2) float
        How far they go on the flat for each mm ahead in the tunnel.
    leg : (3,) float
        Unit, down the leg in the tunnel.
    leg_flat : (2,) float
        The same way on the flat; unit.
    first_bent : int
        Which ruling the bend or roll begins at; it goes on to the last.
    inside_radius_mm : (float, float)
        Of the bend or roll, square to the crown line, at x = 0, and how much it grows per mm ahead:
        not at all but on a cone.
    take_mm : float or None
        Flat sheet between the tangent lines of a bend of one radius; None of a cone.
    """

    rulings: Rulings
    flat: FloatArray
    flat_per_x: FloatArray
    leg: FloatArray
    leg_flat: FloatArray
    first_bent: int
    inside_radius_mm: tuple[float, float]
    take_mm: float | None

    def __post_init__(self) -> None:
        for array in (self.flat, self.flat_per_x, self.leg, self.leg_flat):
            locked(array)

    @property
    def bend_rad(self) -> float:
        """How far the metal turns from the crown to the leg."""
        return float(self.rulings.turned_rad[-1])

    def flat_at(self, x_mm: float) -> FloatArray:
        """Return the (k, 2) places of the rulings at x of the tunnel, on the flat."""
        return np.asarray(self.flat + x_mm * self.flat_per_x)

    def leg_at(self, x_mm: FloatArray, down_mm: FloatArray) -> FloatArray:
        """Return (j, 3) places of the leg in the tunnel, so far down from its top."""
        start = self.rulings.at[-1] + np.multiply.outer(x_mm, self.rulings.per_x[-1])
        return np.asarray(start + np.multiply.outer(down_mm, self.leg))

    def leg_flat_at(self, x_mm: FloatArray, down_mm: FloatArray) -> FloatArray:
        """Return (j, 2) the same places on the flat."""
        start = self.flat[-1] + np.multiply.outer(x_mm, self.flat_per_x[-1])
        return np.asarray(start + np.multiply.outer(down_mm, self.leg_flat))

    def downs_of(self, places: FloatArray) -> FloatArray:
        """Return how far down a leg (j, 2) places of the flat are, of the left or the right one."""
        left = places * [np.sign(places[0, 0]), 1.0]
        ways = np.stack([self.flat_per_x[-1], self.leg_flat]).T
        return np.asarray(np.linalg.solve(ways, (left - self.flat[-1]).T)[1])

    def radius_at(self, x_mm: float) -> float:
        """Return the inside radius of the bend or roll where the ruling's place is at x."""
        return self.inside_radius_mm[0] + x_mm * self.inside_radius_mm[1]


def bend_take_mm(angle_rad: float, inside_radius_mm: float, sheet_mm: float) -> float:
    """Return how much flat sheet a bend of one radius takes between its tangent lines.

    Up to an inside radius of five thicknesses it is a fold, `geometry.metal.bend_zone_mm`; beyond
    it is rolled, and its middle keeps its length.

    >>> round(bend_take_mm(np.pi / 2.0, 25.0, 1.6), 4)
    40.5265
    """
    if inside_radius_mm > FOLDED_UP_TO * sheet_mm:
        return angle_rad * (inside_radius_mm + 0.5 * sheet_mm)
    return bend_zone_mm(angle_rad, inside_radius_mm, sheet_mm)


def half_net(form: Form, sheet_mm: float, count: int = 65) -> HalfNet:
    """Return the left half developed.

    Parameters
    ----------
    form : RoundForm or FlatForm
    sheet_mm : float
        Thickness; the middle of the metal is laid flat.
    count : int
        Rulings of the top or corner.
    """
    rulings = form.rulings(0.5 * sheet_mm, count)
    if isinstance(form, RoundForm):
        flat, per_x, radius, take = _rolled(form, rulings, sheet_mm)
        first = 0
    else:
        flat, per_x, radius, take = _folded(form, rulings, sheet_mm)
        first = 1
    return HalfNet(
        rulings=rulings,
        flat=flat,
        flat_per_x=per_x,
        leg=form.leg,
        leg_flat=_leg_on_flat(form.leg, rulings.per_x[-1], per_x[-1]),
        first_bent=first,
        inside_radius_mm=radius,
        take_mm=take,
    )


Laid = tuple[FloatArray, FloatArray, tuple[float, float], float | None]


def _rolled(form: RoundForm, rulings: Rulings, sheet_mm: float) -> Laid:
    """Lay a cone's or cylinder's rulings flat, the crown line up the middle."""
    lengths = np.linalg.norm(rulings.per_x, axis=1)
    round_rad = rulings.turned_rad / np.cos(form.half_angle_rad)
    if not form.is_cone:
        radius = form.radius_mm + 0.5 * sheet_mm
        along = (rulings.at - rulings.at[0]) @ form.axis
        flat = np.stack([radius * round_rad, along], axis=1)
        per_x = np.stack([np.zeros(len(lengths)), lengths], axis=1)
        return flat, per_x, (form.radius_mm, 0.0), float(radius * round_rad[-1])
    apex = form.apex(0.5 * sheet_mm)
    grows = np.sign(form.axis[0])
    fan = round_rad * np.sin(form.half_angle_rad)
    per_x = lengths[:, None] * np.stack([grows * np.sin(fan), np.cos(fan)], axis=1)
    flat = np.array([0.0, lengths[0] * apex[0]]) - apex[0] * per_x
    # square to the crown line: its distance from the point times the half angle's tangent
    slope = float(grows * lengths[0] * np.tan(form.half_angle_rad))
    return flat, per_x, (-slope * float(apex[0]) - 0.5 * sheet_mm, slope), None


def _folded(form: FlatForm, rulings: Rulings, sheet_mm: float) -> Laid:
    """Lay the flat top down, then the corner's zone beside it."""
    across = np.array([0.0, 1.0, 0.0])
    along = form.crown_per_x / np.linalg.norm(form.crown_per_x)
    crown, tangent = rulings.at[0], rulings.at[1]
    way = np.array([form.corner_per_x @ across, form.corner_per_x @ along])
    unit = way / np.linalg.norm(way)
    outward = np.array([unit[1], -unit[0]])
    take = bend_take_mm(form.bend_rad, form.radius_mm, sheet_mm)
    share = rulings.turned_rad[1:] / form.bend_rad
    further = (rulings.at[1:] - tangent) @ form.corner_per_x / np.linalg.norm(form.corner_per_x)
    start = np.array([(tangent - crown) @ across, (tangent - crown) @ along])
    corner = start + np.outer(share * take, outward) + np.outer(further, unit)
    flat = np.concatenate([np.zeros((1, 2)), corner])
    length = float(np.linalg.norm(form.crown_per_x))
    per_x = np.concatenate([[[0.0, length]], np.tile(way, (len(share), 1))])
    return flat, per_x, (form.radius_mm, 0.0), take


def _leg_on_flat(leg: FloatArray, per_x: FloatArray, flat_per_x: FloatArray) -> FloatArray:
    """Return which way down the leg lies on the flat: at the angle it has with its top."""
    length = float(np.linalg.norm(per_x))
    cosine = float(leg @ per_x) / length
    unit = flat_per_x / length
    outward = np.array([unit[1], -unit[0]])
    return np.asarray(cosine * unit + np.sqrt(1.0 - cosine**2) * outward)

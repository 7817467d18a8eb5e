"""The development folded back up, by numbers alone: what the net says, done to the net.

Nothing here knows the form the net came from. It is given flat lines and what is written beside
them: fold here, through this angle, to this inside radius; or roll from here to here, to this
radius. Narrow flat strips are turned about the lines between them, rigid faces about folds.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.tank.tunnel_net import HalfNet

_STRIPS = 64
"""Between one ruling of the net and the next."""


@dataclass(frozen=True, eq=False)
class FoldedEnd:
    """One end of a piece as it comes out of the bench, inside face, own frame.

    Attributes
    ----------
    x_mm : float
        Where it is meant to be.
    top : (k, 3) float, mm
        Along the top from the crown to the left leg.
    leg : (j, 3) float, mm
        Down the leg.
    """

    x_mm: float
    top: FloatArray
    leg: FloatArray


def folded_end(
    net: HalfNet, sheet_mm: float, x_mm: float, downs_mm: FloatArray, *, strips: int = _STRIPS
) -> FoldedEnd:
    """Return where one end of the left half comes to lie when the net is bent as it says.

    The crown line is held where the tunnel has it; everything else follows from the flat.

    Parameters
    ----------
    net : HalfNet
    sheet_mm : float
    x_mm : float
        Which end.
    downs_mm : (j,) float, mm
        How far down the leg to look.
    strips : int
        How many a roll is made in between one line of the net and the next.
    """
    if net.inside_radius_mm[1] != 0.0 or net.first_bent == 0:
        return _rolled_end(net, sheet_mm, x_mm, downs_mm, strips * (len(net.flat) - 1))
    return _bent_end(net, sheet_mm, x_mm, downs_mm)


def _flat_frame(net: HalfNet) -> tuple[FloatArray, FloatArray]:
    """Return the (3, 3) rows across, along and up from the flat that hold the crown line's strip.

    Up from the flat is inward: it is seen from the tube's side.
    """
    along = net.rulings.per_x[0] / np.linalg.norm(net.rulings.per_x[0])
    inward = -net.rulings.normals[0]
    place = net.rulings.at[0]
    return np.stack([np.cross(along, inward), along, inward]), np.asarray(place)


def _bent_end(net: HalfNet, sheet_mm: float, x_mm: float, downs_mm: FloatArray) -> FoldedEnd:
    """Fold the leg down about the bend's axis; the metal between the tangent lines comes round.

    The leg is drawn back over the bend's flat zone to its first tangent line, then turned about
    the axis, which lies the inside radius and half the sheet inward of that line.
    """
    frame, place = _flat_frame(net)
    middle = net.radius_at(0.0) + 0.5 * sheet_mm
    first, last = net.flat[1], net.flat[-1]
    way = net.flat_per_x[1] / np.linalg.norm(net.flat_per_x[1])
    outward = np.array([way[1], -way[0]])
    take = float((last - first) @ outward)
    axis = np.array([way[0], way[1], 0.0])
    pivot = np.array([first[0], first[1], middle])

    def turned(flat: FloatArray, angle: float, inward: float) -> FloatArray:
        """Bend flat places through an angle, on the face so far inward of the middle."""
        solid = np.column_stack([flat, np.full(len(flat), inward)]) - pivot
        return np.asarray(_about(axis, angle, solid) + pivot)

    top, inward = [], 0.5 * sheet_mm
    for flat in net.flat_at(x_mm):
        share = float(np.clip((flat - first) @ outward / take, 0.0, 1.0))
        held = flat - share * take * outward
        top.append(turned(held[None], net.bend_rad * share, inward)[0])
    leg_flat = net.leg_flat_at(np.full(len(downs_mm), x_mm), downs_mm) - take * outward
    leg = turned(leg_flat, net.bend_rad, inward)
    return FoldedEnd(x_mm, np.array(top) @ frame + place, leg @ frame + place)


def _rolled_end(
    net: HalfNet, sheet_mm: float, x_mm: float, downs_mm: FloatArray, strips: int
) -> FoldedEnd:
    """Roll the top in narrow strips to its radius, then carry the leg on flat from the last."""
    frame, place = _flat_frame(net)
    middle = net.radius_at(x_mm) + 0.5 * sheet_mm
    lines, ways = _strip_lines(net, strips)
    turn = _turns(net, lines, ways, middle, x_mm)
    basis, origin = np.eye(3), np.zeros(3)  # rows of the strip's own flat axes, in the fold
    bases, origins = [], []
    for line, way, angle in zip(lines, ways, turn, strict=True):
        pivot = origin + np.append(line, 0.0) @ basis
        axis = np.append(way, 0.0) @ basis
        basis = _about(axis, angle, basis)
        origin = pivot - np.append(line, 0.0) @ basis
        bases.append(basis)
        origins.append(origin)
    inward = np.array([0.0, 0.0, 0.5 * sheet_mm])
    top = []
    for at, flat in enumerate(net.flat_at(x_mm)):
        strip = at * strips // (len(net.flat) - 1)
        top.append(origins[strip] + np.append(flat, 0.0) @ bases[strip])
        back = 0.0 if strip == strips else 0.5 * turn[1]  # its normal lies between two strips'
        normal = _about(np.append(ways[strip], 0.0) @ bases[strip], -back, bases[strip][2][None])
        top[-1] = top[-1] + inward[2] * normal[0]
    leg_flat = net.leg_flat_at(np.full(len(downs_mm), x_mm), downs_mm)
    leg = origins[-1] + (np.column_stack([leg_flat, np.zeros(len(leg_flat))]) + inward) @ bases[-1]
    return FoldedEnd(x_mm, np.array(top) @ frame + place, leg @ frame + place)


def _strip_lines(net: HalfNet, strips: int) -> tuple[FloatArray, FloatArray]:
    """Return places and unit directions on the flat of the lines the strips turn about.

    Between the first and the last line of the roll: fanned evenly where these meet, side by side
    where they run alike.
    """
    share = np.linspace(0.0, 1.0, strips + 1)
    first, last = net.flat[0], net.flat[-1]
    ways = net.flat_per_x[[0, -1]] / np.linalg.norm(net.flat_per_x[[0, -1]], axis=1)[:, None]
    fan = float(np.arctan2(_cross(ways[0], ways[1]), ways[0] @ ways[1]))
    if abs(fan) < 1e-12:
        lines = first + np.outer(share, last - first)
        return lines, np.tile(ways[0], (strips + 1, 1))
    along = _cross(last - first, ways[1]) / _cross(ways[0], ways[1])
    point = first + along * ways[0]
    start = float(np.arctan2(ways[0][1], ways[0][0]))
    angle = start + share * fan
    return np.tile(point, (strips + 1, 1)), np.column_stack([np.cos(angle), np.sin(angle)])


def _turns(
    net: HalfNet, lines: FloatArray, ways: FloatArray, middle_mm: float, x_mm: float
) -> FloatArray:
    """Return how far the metal turns at each line: the strips beside it over the roll's radius.

    Half a strip lies beside the first and the last line.
    """
    crown = net.flat_at(x_mm)[0]
    if np.allclose(lines[0], lines[-1], atol=1e-9):
        fan = float(np.arccos(np.clip(ways[0] @ ways[-1], -1.0, 1.0)))
        width = fan / (len(ways) - 1) * float(np.linalg.norm(crown - lines[0]))
    else:
        side = lines[-1] - lines[0]
        width = abs(_cross(ways[0], side)) / (len(ways) - 1)
    turn = np.full(len(ways), width / middle_mm)
    turn[[0, -1]] *= 0.5
    return turn


def _cross(one: FloatArray, other: FloatArray) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def _about(axis: FloatArray, angle: float, points: FloatArray) -> FloatArray:
    """Return points turned about an axis through (0, 0, 0): what lies right of it comes up."""
    unit = axis / np.linalg.norm(axis)
    cosine, sine = np.cos(angle), -np.sin(angle)
    along = np.multiply.outer(points @ unit, unit) * (1.0 - cosine)
    return np.asarray(points * cosine + np.cross(unit, points) * sine + along)

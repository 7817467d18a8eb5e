"""The faces of one piece of a tunnel: its top, rolled or folded, and the legs that touch it.

Own frame: x along the foot line from the rear end ahead, y left, z up from the foot line. Every
face is made of straight lines ("rulings") that cross upright planes once, so that a place on one is
told by its x. A face `offset` outward is one of the same kind: the inside face is 0, the middle of
the metal half the sheet. Only the left half is described, crown to leg; the right is its mirror
image.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.tank.tunnel_faults import TooMuchTaperError
from geometry.tank.tunnel_spec import TunnelEnd

_SAME_MM = 1e-6
"""Widths nearer to each other than this are of a cylinder: the cone's point would be too far."""

_STEEPEST_RAD = np.radians(60.0)


@dataclass(frozen=True, eq=False)
class Rulings:
    """Straight lines of the left half, from the crown to where the leg begins.

    Attributes
    ----------
    at : (k, 3) float, mm
        Where each meets the plane x = 0.
    per_x : (k, 3) float
        How far it goes for each mm ahead; its x is 1.
    normals : (k, 3) float
        Unit, outward: the face does not twist along a ruling.
    turned_rad : (k,) float
        How far the face has turned since the crown.
    """

    at: FloatArray
    per_x: FloatArray
    normals: FloatArray
    turned_rad: FloatArray

    def __post_init__(self) -> None:
        for array in (self.at, self.per_x, self.normals, self.turned_rad):
            locked(array)

    def points(self, x_mm: float) -> FloatArray:
        """Return the (k, 3) places at x."""
        return np.asarray(self.at + x_mm * self.per_x)


@dataclass(frozen=True, eq=False)
class RoundForm:
    """A top that is part of a round cylinder or of a right circular cone, and its legs.

    Attributes
    ----------
    place : (3,) float, mm
        On its axis: the cone's point, or any place of a cylinder's.
    axis : (3,) float
        Unit; of a cone, to where it grows wider.
    half_angle_rad : float
        Between a cone's axis and its rulings; 0 of a cylinder.
    radius_mm : float
        Of a cylinder; 0 of a cone.
    leg : (3,) float
        Unit, down the legs in an upright plane.
    """

    place: FloatArray
    axis: FloatArray
    half_angle_rad: float
    radius_mm: float
    leg: FloatArray

    @property
    def is_cone(self) -> bool:
        """Whether it tapers."""
        return self.half_angle_rad > 0.0

    @property
    def upward(self) -> FloatArray:
        """(3,) unit, square to the axis, from it to the crown."""
        x, _, z = self.axis
        return np.array([-z, 0.0, x]) * (1.0 if x > 0.0 else -1.0)

    @property
    def spread_rad(self) -> float:
        """How far round the axis from the crown the legs touch.

        Where the normal is square to the legs: cos(h) n . leg - sin(h) axis . leg = 0.
        """
        h = self.half_angle_rad
        p, q = np.cos(h) * (self.upward @ self.leg), np.cos(h) * self.leg[1]
        s = np.sin(h) * (self.axis @ self.leg)
        return float(np.arctan2(q, p) - np.arccos(np.clip(s / np.hypot(p, q), -1.0, 1.0)))

    def apex(self, offset_mm: float) -> FloatArray:
        """Return the (3,) point of a cone a distance outside."""
        return np.asarray(self.place - self.axis * (offset_mm / np.sin(self.half_angle_rad)))

    def rulings(self, offset_mm: float, count: int) -> Rulings:
        """Return evenly spread rulings of a face a distance outside."""
        round_rad = np.linspace(0.0, self.spread_rad, count)
        outward = np.cos(round_rad)[:, None] * self.upward
        outward = outward + np.sin(round_rad)[:, None] * np.array([0.0, 1.0, 0.0])
        h = self.half_angle_rad
        along = np.cos(h) * self.axis + np.sin(h) * outward
        normals = np.cos(h) * outward - np.sin(h) * self.axis
        if self.is_cone:
            place = np.broadcast_to(self.apex(offset_mm), along.shape)
        else:
            place = self.place + (self.radius_mm + offset_mm) * outward
        per_x = along / along[:, :1]
        at = place - place[:, :1] * per_x
        return Rulings(at, per_x, normals, round_rad * np.cos(h))


@dataclass(frozen=True, eq=False)
class FlatForm:
    """A flat top, its corners bent to one radius, and its legs.

    Attributes
    ----------
    crown : (3,) float, mm
        The top's middle in the plane x = 0, inside.
    crown_per_x : (3,) float
    top_normal, leg_normal : (3,) float
        Unit, outward.
    corner_per_x : (3,) float
        Along the bend.
    bend : (3,) float, mm
        The bend's axis in the plane x = 0.
    radius_mm : float
        Inside.
    leg : (3,) float
        Unit, down the legs in an upright plane.
    """

    crown: FloatArray
    crown_per_x: FloatArray
    top_normal: FloatArray
    leg_normal: FloatArray
    corner_per_x: FloatArray
    bend: FloatArray
    radius_mm: float
    leg: FloatArray

    @property
    def bend_rad(self) -> float:
        """How far each corner is bent."""
        cross = np.linalg.norm(np.cross(self.top_normal, self.leg_normal))
        return float(np.arctan2(cross, self.top_normal @ self.leg_normal))

    def rulings(self, offset_mm: float, count: int) -> Rulings:
        """Return the crown line, then evenly spread rulings of the corner."""
        whole = self.bend_rad
        turned = np.linspace(0.0, whole, count)
        share = np.sin(whole - turned), np.sin(turned)
        normals = np.outer(share[0], self.top_normal) + np.outer(share[1], self.leg_normal)
        normals = normals / np.sin(whole)
        place = self.bend + (self.radius_mm + offset_mm) * normals
        crown = self.crown + offset_mm * self.top_normal
        place = np.concatenate([crown[None], place])
        per_x = np.concatenate([self.crown_per_x[None], np.tile(self.corner_per_x, (count, 1))])
        return Rulings(
            place - place[:, :1] * per_x,
            per_x,
            np.concatenate([self.top_normal[None], normals]),
            np.concatenate([[0.0], turned]),
        )


Form = RoundForm | FlatForm


@dataclass(frozen=True)
class Span:
    """One piece of a tunnel between two upright planes, and what its ends are called.

    Attributes
    ----------
    behind_mm, ahead_mm : float
        From the tunnel's rear end.
    behind, ahead : TunnelEnd
    names : (str, str)
    """

    behind_mm: float
    ahead_mm: float
    behind: TunnelEnd
    ahead: TunnelEnd
    names: tuple[str, str] = ("rear", "front")

    @property
    def rise(self) -> float:
        """How much the crown rises for each mm ahead."""
        return (self.ahead.height_mm - self.behind.height_mm) / self._long

    @property
    def widening(self) -> float:
        """How much the width grows for each mm ahead."""
        return (self.ahead.width_mm - self.behind.width_mm) / self._long

    @property
    def _long(self) -> float:
        return self.ahead_mm - self.behind_mm

    def crown_at(self, x_mm: float) -> float:
        """Return how high the crown line is at x."""
        return self.behind.height_mm + (x_mm - self.behind_mm) * self.rise

    def width_at(self, x_mm: float) -> float:
        """Return how wide it is at x."""
        return self.behind.width_mm + (x_mm - self.behind_mm) * self.widening


def round_form(span: Span, flare_rad: float) -> RoundForm:
    """Return the round top through the crown and the widest places of both ends.

    The cone's point lies where crown line and widths come together, D from an end. With g half an
    end's width over D, f the crown line's slope as an angle, the cone's half angle h is found from
    sin2 h = g2 cos f cos(2 h - f); its axis slopes by f - h. Own derivation: docs/guide/tunnel.md.

    Raises
    ------
    TooMuchTaperError

    The tapered half tunnel of 25 to 20 mm radius, 300 mm long:

    >>> ends = TunnelEnd(20.0, 40.0), TunnelEnd(25.0, 50.0)
    >>> cone = round_form(Span(0.0, 300.0, *ends), 0.0)
    >>> np.round(cone.place, 6).tolist(), round(float(np.tan(cone.half_angle_rad)) * 300.0, 6)
    ([-1200.0, 0.0, 0.0], 5.0)
    """
    leg = np.array([0.0, np.sin(flare_rad), -np.cos(flare_rad)])
    if abs(span.ahead.width_mm - span.behind.width_mm) < _SAME_MM:
        axis = np.array([1.0, 0.0, span.rise]) / np.hypot(1.0, span.rise)
        radius = 0.25 * (span.ahead.width_mm + span.behind.width_mm)
        upward = np.array([-axis[2], 0.0, axis[0]])
        place = np.array([0.0, 0.0, span.crown_at(0.0)]) - radius * upward
        return RoundForm(place, axis, 0.0, radius, leg)
    grows = 1.0 if span.widening > 0.0 else -1.0
    point_x = span.behind_mm - span.behind.width_mm / span.widening
    g, f = 0.5 * abs(span.widening), np.arctan(grows * span.rise)
    a, b = 1.0 + 2.0 * (g * np.cos(f)) ** 2, 2.0 * g * g * np.sin(f) * np.cos(f)
    half = 0.5 * float(np.arctan2(b, a) + np.arccos(1.0 / np.hypot(a, b)))
    slope = f - half
    if max(abs(f), abs(slope), half) > _STEEPEST_RAD:
        raise TooMuchTaperError(*span.names)
    axis = np.array([grows * np.cos(slope), 0.0, np.sin(slope)])
    return RoundForm(np.array([point_x, 0.0, span.crown_at(point_x)]), axis, half, 0.0, leg)


def flat_form(span: Span, flare_rad: float, radius_mm: float) -> FlatForm:
    """Return the flat top and its legs, the corners between them rounded inside.

    Raises
    ------
    TooMuchTaperError

    >>> form = flat_form(Span(0.0, 300.0, TunnelEnd(60.0, 50.0), TunnelEnd(60.0, 50.0)), 0.0, 2.0)
    >>> round(float(np.degrees(form.bend_rad)), 9), form.bend.tolist()
    (90.0, [0.0, 23.0, 58.0])
    """
    if max(abs(span.rise), 0.5 * abs(span.widening)) > np.tan(_STEEPEST_RAD):
        raise TooMuchTaperError(*span.names)
    leg = np.array([0.0, np.sin(flare_rad), -np.cos(flare_rad)])
    crown_per_x = np.array([1.0, 0.0, span.rise])
    corner_per_x = np.array([1.0, 0.5 * span.widening, span.rise])
    top_normal = np.array([-span.rise, 0.0, 1.0]) / np.hypot(1.0, span.rise)
    leg_normal = np.cross(leg, corner_per_x)
    leg_normal = leg_normal * np.sign(leg_normal[1]) / np.linalg.norm(leg_normal)
    corner = np.array([0.0, 0.5 * span.width_at(0.0), span.crown_at(0.0)])
    inward = np.linalg.solve(
        np.stack([top_normal, leg_normal, corner_per_x]), [-radius_mm, -radius_mm, 0.0]
    )
    bend = corner + inward
    return FlatForm(
        crown=np.array([0.0, 0.0, span.crown_at(0.0)]),
        crown_per_x=crown_per_x,
        top_normal=top_normal,
        leg_normal=leg_normal,
        corner_per_x=corner_per_x,
        bend=bend - bend[0] * corner_per_x,
        radius_mm=radius_mm,
        leg=leg,
    )

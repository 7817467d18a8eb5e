"""One side copied to the other: as a whole or by zones, handed things left on their own hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.datum.centre_plane import CentrePlane
from geometry.datum.copy_body import Body, body_of, unpinched, without_scraps
from geometry.datum.copy_half import both_from_one, led_into_mean
from geometry.datum.copy_patch import Ball, Patched, patched
from geometry.datum.left_right import Hand
from geometry.datum.left_right_skin import skin_of
from geometry.datum.stand import Datum
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, face_areas
from geometry.progress import Report, part_of, silent

BLEND_MM = 15.0
"""How wide a copied shape is led over into what it joins."""

_LEAST_SHARE = 0.05


@dataclass(frozen=True)
class SideZone:
    """A round place with a side of its own.

    Attributes
    ----------
    centre : three floats, mm
        On either hand.
    radius_mm : float
    side : "left" or "right"
        Which is right there; of no use for a thing left odd.
    """

    centre: tuple[float, float, float]
    radius_mm: float
    side: Hand = "left"


@dataclass(frozen=True, eq=False)
class Copied:
    """A tank one side of which, or part of it, was made from the other.

    Attributes
    ----------
    mesh : TriMesh, mm
    copied : (m,) bool
        Faces made from the other hand.
    guessed : (m,) bool
        Faces that are a guess, or were made from one.
    face_of_scan : (m,) int
        The face of the scan each is, or was made from on the other hand; -1 in joining strips.
    step_mm, kink_rad : float
        Largest difference in position and slope left where zones and handed things are joined
        on, scan noise fitted away. At the centre plane both halves share their vertices.
    """

    mesh: TriMesh
    copied: BoolArray
    guessed: BoolArray
    face_of_scan: IntArray
    step_mm: float
    kink_rad: float

    def __post_init__(self) -> None:
        for array in (self.copied, self.guessed):
            locked(array)
        locked(self.face_of_scan)


class SideMissingError(GeometryError):
    """The side to copy has next to nothing on it: not scanned, or the plane lies off the tank.

    Attributes
    ----------
    side : str
        "left" or "right".
    share : float
        Of the scanned area, on that side of the centre plane.
    """

    def __init__(self, side: Hand, share: float) -> None:
        self.side, self.share = side, share
        super().__init__(f"{share:.3f} of the area is on the {side}")


class PlaceOffTankError(GeometryError):
    """A zone, or a place to be left odd, reaches no scanned surface on either hand.

    Attributes
    ----------
    centre : (3,) float, mm
    radius_mm : float
    off_mm : float
        From its middle to the nearest scanned place, on whichever hand is nearer.
    """

    def __init__(self, centre: FloatArray, radius_mm: float, off_mm: float) -> None:
        self.centre, self.radius_mm, self.off_mm = centre, radius_mm, off_mm
        super().__init__(f"{off_mm:.1f} mm from the skin, radius {radius_mm:.1f}")


class ZonesClashError(GeometryError):
    """Two zones that overlap, the one saying left, the other right.

    Attributes
    ----------
    one, other : (3,) float, mm
        Their middles.
    """

    def __init__(self, one: FloatArray, other: FloatArray) -> None:
        self.one, self.other = one, other
        super().__init__("zones with contrary sides overlap")


class PlaceNotJoinedError(GeometryError):
    """The border of a zone, or of a place left odd, cannot be joined to the skin around it.

    Attributes
    ----------
    centre : (3,) float, mm
    radius_mm : float
    """

    def __init__(self, centre: FloatArray, radius_mm: float) -> None:
        self.centre, self.radius_mm = centre, radius_mm
        super().__init__(f"no border can be joined about radius {radius_mm:.1f}")


def copied_side(
    mesh: TriMesh,
    datum: Datum,
    side: Literal["left", "right", "none"],
    *,
    zones: Sequence[SideZone] = (),
    odd: Sequence[SideZone] = (),
    blend_mm: float = BLEND_MM,
    guessed: BoolArray | None = None,
    report: Report = silent,
) -> Copied:
    """Return the tank with one side made from the other.

    Parameters
    ----------
    mesh : TriMesh, mm
        Manifold, faces out.
    datum : Datum
    side : str
        Which is right; "none": only in the zones is anything copied.
    zones : sequence of SideZone
        Places where the side named there is right instead.
    odd : sequence of SideZone
        Places that stay as scanned on both hands: tap, key, badge.
    blend_mm : float
        How wide a copied shape is led over into what it joins.
    guessed : (m,) bool, optional
        Faces of the scan that are a guess; their copies are too.

    Raises
    ------
    SideMissingError, PlaceOffTankError, ZonesClashError, PlaceNotJoinedError
    """
    report(0.0, "copy one side to the other")
    _check(mesh, datum, side, zones, odd)
    plane = datum.plane
    scan = body_of(mesh, guessed)
    turned = scan.on_other_hand(plane)
    joins: list[Patched] = []
    body = scan
    for number, zone in enumerate(zones):
        report(0.05 + 0.3 * number / len(zones), "join the zones")
        if zone.side != side:
            ball = _on_hand(zone, plane, _other(zone.side))
            joins.append(_put_in(body, turned, ball, plane, blend_mm=blend_mm))
            body = joins[-1].body
    if side != "none":
        hand = 1.0 if side == "left" else -1.0
        inner = part_of(report, 0.35, 0.6)
        body = led_into_mean(body, skin_of(mesh, plane), plane, blend_mm=blend_mm, report=inner)
        body = both_from_one(body, plane, hand)
    for number, place in enumerate(odd):
        report(0.6 + 0.3 * number / len(odd), "leave handed things as they are")
        for remade in _remade(place, side, zones, plane):
            ball = _on_hand(place, plane, remade)
            joins.append(_put_in(body, scan, ball, plane, blend_mm=blend_mm))
            body = joins[-1].body
    body = unpinched(without_scraps(body))
    report(1.0, "copy one side to the other")
    return Copied(
        mesh=body.mesh,
        copied=body.copied,
        guessed=body.guessed,
        face_of_scan=body.scan_face,
        step_mm=max((join.step_mm for join in joins), default=0.0),
        kink_rad=max((join.kink_rad for join in joins), default=0.0),
    )


def _put_in(body: Body, patch: Body, ball: Ball, plane: CentrePlane, *, blend_mm: float) -> Patched:
    join = patched(body, patch, ball, plane, blend_mm=blend_mm)
    if join is None:
        raise PlaceNotJoinedError(np.array(ball.centre), ball.radius_mm)
    return join


def _remade(
    place: SideZone, side: str, zones: Sequence[SideZone], plane: CentrePlane
) -> tuple[Hand, ...]:
    """Return the hands that were made from the other about a place."""
    if side != "none":
        return (_other("left" if side == "left" else "right"),)
    near = [zone for zone in zones if _overlap(place, zone, plane)]
    return tuple(dict.fromkeys(_other(zone.side) for zone in near))


def _other(hand: Hand) -> Hand:
    return "right" if hand == "left" else "left"


def _on_hand(zone: SideZone, plane: CentrePlane, hand: Hand) -> Ball:
    """Return the zone's place on one hand."""
    centre = np.array([zone.centre])
    off = float(plane.off(centre)[0])
    if off != 0.0 and (off > 0.0) != (hand == "left"):
        centre = plane.mirrored(centre)
    x, y, z = centre[0].tolist()
    return Ball((x, y, z), zone.radius_mm)


def _overlap(one: SideZone, other: SideZone, plane: CentrePlane) -> bool:
    a, b = (np.array(_on_hand(zone, plane, "left").centre) for zone in (one, other))
    return float(np.linalg.norm(a - b)) < one.radius_mm + other.radius_mm


def _check(
    mesh: TriMesh,
    datum: Datum,
    side: str,
    zones: Sequence[SideZone],
    odd: Sequence[SideZone],
) -> None:
    plane = datum.plane
    if side != "none":
        area = face_areas(mesh.vertices, mesh.faces)
        on_left = float(area[plane.off(mesh.vertices[mesh.faces].mean(axis=1)) > 0].sum())
        share = on_left / max(float(area.sum()), 1e-12)
        if side == "left" and share < _LEAST_SHARE:
            raise SideMissingError("left", share)
        if side == "right" and 1.0 - share < _LEAST_SHARE:
            raise SideMissingError("right", 1.0 - share)
    for place in (*zones, *odd):
        if not place.radius_mm > 0.0:
            raise ValueError("a zone has some width")
        off = min(
            float(_on_hand(place, plane, hand).away(mesh.vertices).min())
            for hand in ("left", "right")
        )
        if off > place.radius_mm:
            raise PlaceOffTankError(np.array(place.centre), place.radius_mm, off)
    for number, one in enumerate(zones):
        for other in zones[:number]:
            if one.side != other.side and _overlap(one, other, plane):
                raise ZonesClashError(np.array(one.centre), np.array(other.centre))

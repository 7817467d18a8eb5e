"""The tunnel as a plain body, to be taken off the space inside: what lies under the tank's roof."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.mesh import (
    TriMesh,
    face_areas,
    face_normals,
    part_of_mesh,
    piece_of_face,
    rims,
)
from geometry.surface import offset_inward
from geometry.tank.tunnel_faults import TunnelSizeError

TunnelTop = Literal["flat", "half round", "three-sided", "cut corners"]

_ARC = 48
_BEYOND_MM = 100.0
_WIDTH = (0.005, 0.995)


class TunnelTooLargeError(GeometryError):
    """A tunnel wider than the tank, or as high.

    Attributes
    ----------
    what : "wide" or "high"
    tunnel_mm, tank_mm : float
        Metal counted in.
    """

    def __init__(self, what: str, tunnel_mm: float, tank_mm: float) -> None:
        self.what, self.tunnel_mm, self.tank_mm = what, tunnel_mm, tank_mm
        super().__init__(f"tunnel {tunnel_mm:.1f} mm {what}, tank {tank_mm:.1f} mm")


@dataclass(frozen=True)
class PlainTunnel:
    """A straight tunnel by its measures, on the centre plane.

    Attributes
    ----------
    front_width_mm, rear_width_mm : float
        Inside, where the frame goes.
    front_height_mm, rear_height_mm : float
        From the foot to the roof inside.
    top : str
        The form of its roof. Three-sided is a flat one folded square, as a tunnel laid out by that
        name is; with cut corners its two upper corners are cut off by a quarter of the
        width at 45 degrees.
    foot_front_mm, foot_rear_mm : float or None
        Height of the foot in tank axes, at the tank's front and rear; None for that of the open
        bottom edge, or the lowest place of a tank that has none.
    length_mm : float or None
        From the tank's front; None where it runs right through.
    """

    front_width_mm: float
    rear_width_mm: float
    front_height_mm: float
    rear_height_mm: float
    top: TunnelTop = "half round"
    foot_front_mm: float | None = None
    foot_rear_mm: float | None = None
    length_mm: float | None = None


def tunnel_body(tunnel: PlainTunnel, space: TriMesh, metal_mm: float) -> TriMesh:
    """Return the closed body the tunnel takes off a space, its metal counted in.

    It runs out 100 mm before the front and, where it runs through, behind the rear, and as far
    down, so that it clears the space.

    Parameters
    ----------
    tunnel : PlainTunnel
    space : TriMesh
        Closed, tank axes.
    metal_mm : float

    Raises
    ------
    TunnelSizeError
    TunnelTooLargeError
    """
    low, high = space.vertices.min(axis=0), space.vertices.max(axis=0)
    _check_size(tunnel, space.vertices, metal_mm)
    rear = (
        low[0] - _BEYOND_MM if tunnel.length_mm is None else high[0] - tunnel.length_mm - metal_mm
    )
    stations = np.array([rear, high[0] + _BEYOND_MM])
    share = (stations - low[0]) / (high[0] - low[0])  # the tapers run on straight
    feet = _feet(tunnel, float(low[2]))
    floor = float(low[2]) - _BEYOND_MM
    outlines = [_outline(tunnel, feet, (float(t), floor), metal_mm) for t in share]
    count = len(outlines[0])
    points = [
        np.column_stack([np.full(count, x), line])
        for x, line in zip(stations, outlines, strict=True)
    ]
    i = np.arange(count)
    j = np.roll(i, -1)
    walls = np.concatenate([np.stack([i, j, j + count], 1), np.stack([i, j + count, i + count], 1)])
    fan = np.stack([np.zeros(count - 2, np.int64), i[1:-1], i[2:]], axis=1)
    faces = np.concatenate([walls, fan[:, ::-1], fan + count])
    return TriMesh(np.concatenate(points), faces)


def room_below(sheet: TriMesh, metal_mm: float, floor_mm: float) -> tuple[TriMesh, ...]:
    """Return what lies below each piece of a folded tunnel, down to a floor, its metal counted in.

    Parameters
    ----------
    sheet : TriMesh
        The tunnel folded, on the middle of its metal, tank axes; open at its ends and along its
        feet. Its legs stand or flare outward.
    metal_mm : float
    floor_mm : float
        Height of the bodies' floor: below all the space.
    """
    outward = TriMesh(offset_inward(_facing_up(sheet), -metal_mm / 2.0), _facing_up(sheet).faces)
    label = piece_of_face(outward.faces)
    pieces = (part_of_mesh(outward, np.flatnonzero(label == k))[0] for k in range(label.max() + 1))
    return tuple(_dropped(piece, floor_mm) for piece in pieces)


def _facing_up(sheet: TriMesh) -> TriMesh:
    areas = face_areas(sheet.vertices, sheet.faces)
    up = float((areas * face_normals(sheet.vertices, sheet.faces)[:, 2]).sum())
    return sheet if up >= 0.0 else TriMesh(sheet.vertices, sheet.faces[:, ::-1])


def _dropped(sheet: TriMesh, floor_mm: float) -> TriMesh:
    """Return the body between a sheet and its own shadow on a floor."""
    count = len(sheet.vertices)
    shadow = np.column_stack([sheet.vertices[:, :2], np.full(count, floor_mm)])
    walls = []
    for rim in rims(sheet):
        a, b = rim, np.roll(rim, -1)
        walls += [np.stack([b, a, a + count], 1), np.stack([b, a + count, b + count], 1)]
    faces = np.concatenate([sheet.faces, sheet.faces[:, ::-1] + count, *walls])
    return TriMesh(np.concatenate([sheet.vertices, shadow]), faces)


def _feet(tunnel: PlainTunnel, lowest: float) -> tuple[float, float]:
    """Return the foot's heights at front and rear."""
    front, rear = tunnel.foot_front_mm, tunnel.foot_rear_mm
    return (lowest if front is None else front, lowest if rear is None else rear)


def _check_size(tunnel: PlainTunnel, points: FloatArray, metal_mm: float) -> None:
    for what, size in (
        ("tunnel's width at the front", tunnel.front_width_mm),
        ("tunnel's width at the rear", tunnel.rear_width_mm),
        ("tunnel's height at the front", tunnel.front_height_mm),
        ("tunnel's height at the rear", tunnel.rear_height_mm),
        ("tunnel's length", 1.0 if tunnel.length_mm is None else tunnel.length_mm),
    ):
        if not 0.0 < size < np.inf:
            raise TunnelSizeError(what, size)
    low, high = points.min(axis=0), points.max(axis=0)
    wide = max(tunnel.front_width_mm, tunnel.rear_width_mm) + 2.0 * metal_mm
    right, left = np.quantile(points[:, 1], _WIDTH)  # a spike at a corner makes no room
    room = 2.0 * min(left, -right)
    if wide >= room:
        raise TunnelTooLargeError("wide", wide, float(room))
    feet = _feet(tunnel, float(low[2]))
    heights = (tunnel.front_height_mm, tunnel.rear_height_mm)
    roof = max(foot + height for foot, height in zip(feet, heights, strict=True)) + metal_mm
    if roof >= high[2]:
        raise TunnelTooLargeError("high", float(roof - min(feet)), float(high[2] - min(feet)))


def _outline(
    tunnel: PlainTunnel, feet: tuple[float, float], at: tuple[float, float], metal_mm: float
) -> FloatArray:
    """Return the (k, 2) left and up of one end, counter-clockwise seen from the front.

    Parameters
    ----------
    tunnel : PlainTunnel
    feet : two floats
        At front and rear.
    at : two floats
        How far ahead, 0 at the tank's rear and 1 at its front, and down to which height.
    metal_mm : float
    """
    share, floor = at

    def between(rear: float, front: float) -> float:
        return rear + share * (front - rear)

    half = between(tunnel.rear_width_mm, tunnel.front_width_mm) / 2.0
    roof = between(feet[1] + tunnel.rear_height_mm, feet[0] + tunnel.front_height_mm)
    wide = half + metal_mm
    top = _top(tunnel.top, half, roof, metal_mm)
    return np.concatenate([[[-wide, floor], [wide, floor]], top])


def _top(kind: TunnelTop, half: float, roof: float, metal_mm: float) -> FloatArray:
    """Return the roof from the left leg over to the right one, the metal's outside."""
    wide, high = half + metal_mm, roof + metal_mm
    if kind == "half round":
        angle = np.linspace(0.0, np.pi, _ARC + 1)
        return np.stack([wide * np.cos(angle), high - wide + wide * np.sin(angle)], axis=1)
    if kind in ("flat", "three-sided"):
        return np.array([[wide, high], [-wide, high]])
    cut = half / 2.0 + metal_mm * (2.0 - np.sqrt(2.0))  # the slope moves out by the metal too
    return np.array(
        [[wide, high - cut], [wide - cut, high], [-wide + cut, high], [-wide, high - cut]]
    )

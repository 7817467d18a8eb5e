"""Blanks of round things by equal area: the filler's recess, the patch over an old hole."""

from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError


class TooShallowError(GeometryError):
    """A recess no deeper than its two bends, or a floor no wider than its corner.

    Attributes
    ----------
    what : "deep" or "wide"
    given_mm, needed_mm : float
    """

    def __init__(self, what: str, given_mm: float, needed_mm: float) -> None:
        self.what, self.given_mm, self.needed_mm = what, given_mm, needed_mm
        super().__init__(f"{given_mm:.1f} mm {what}, {needed_mm:.1f} mm needed")


class EdgeTooTightError(GeometryError):
    """A beaten edge tighter on top than its metal is thick, which it is where it is sharp beneath.

    Attributes
    ----------
    radius_mm, metal_mm : float
    """

    def __init__(self, radius_mm: float, metal_mm: float) -> None:
        self.radius_mm, self.metal_mm = radius_mm, metal_mm
        super().__init__(f"radius {radius_mm:g} of metal {metal_mm:g} thick")


@dataclass(frozen=True)
class RecessBlank:
    """The flat disc a recess is beaten from, by equal area on the middle of its metal.

    Attributes
    ----------
    blank_mm : float
        Across.
    floor_mm : float
        Across the circle on the blank at which the floor ends and its corner begins.
    wall_mm : float
        Across the circle at which the corner ends and the wall begins.
    edge_mm : float
        Across the circle at which the wall ends and the beaten edge begins.
    lip_mm : float
        Across the circle at which the flat of the flange begins.
    """

    blank_mm: float
    floor_mm: float
    wall_mm: float
    edge_mm: float
    lip_mm: float


def recess_blank(
    mouth_mm: float,
    depth_mm: float,
    *,
    flange_mm: float,
    floor_corner_mm: float = 0.0,
    edge_radius_mm: float = 0.0,
    metal_mm: float = 0.0,
    under_mm: float = 0.0,
) -> RecessBlank:
    """Return the blank of a round cup with a flange round its mouth.

    Areas by the rule of Pappus on the middle of the metal; nothing stretched, nothing thinned.
    Without radii the blank is sqrt(d2^2 + 4 d1 h) across.

    Parameters
    ----------
    mouth_mm : float
        Across the cup inside.
    depth_mm : float
        Down to the floor's upper side.
    flange_mm : float
        Width of its flat.
    floor_corner_mm, edge_radius_mm : float
        Of the upper side, the one that is seen: inside the floor's corner, over the beaten edge.
    metal_mm : float
    under_mm : float
        How far the flange's top lies under the place the depth is measured from: the skin's
        thickness where the flange lies under it.

    Raises
    ------
    TooShallowError
    EdgeTooTightError

    Source: [machinery], the equal-area forms.

    >>> round(recess_blank(50.0, 30.0, flange_mm=10.0).blank_mm, 4)
    104.4031
    >>> round(recess_blank(50.0, 50.0, flange_mm=0.0, floor_corner_mm=5.0).blank_mm, 4)
    109.8027
    """
    half = metal_mm / 2.0
    wall = mouth_mm / 2.0 + half
    corner = floor_corner_mm + half if floor_corner_mm else 0.0
    if 0.0 < edge_radius_mm < metal_mm:
        raise EdgeTooTightError(edge_radius_mm, metal_mm)
    edge = edge_radius_mm - half if edge_radius_mm else 0.0
    straight = depth_mm - under_mm - corner - edge
    if straight < 0.0:
        raise TooShallowError("deep", depth_mm, depth_mm - straight)
    if wall < corner:
        raise TooShallowError("wide", mouth_mm, 2.0 * (corner - half))
    floor = (wall - corner) ** 2
    floor_end = floor + np.pi * corner * (wall - corner + 2.0 * corner / np.pi)
    wall_end = floor_end + 2.0 * wall * straight
    edge_end = wall_end + np.pi * edge * (wall + edge - 2.0 * edge / np.pi)
    reach = wall + edge
    whole = edge_end + (reach + flange_mm) ** 2 - reach**2
    across = [float(2.0 * np.sqrt(area)) for area in (whole, floor, floor_end, wall_end, edge_end)]
    return RecessBlank(*across)


def patch_blank_mm(hole_mm: float, crown_mm: float) -> float:
    """Return the disc from which a patch over a round hole in crowned skin is beaten.

    Parameters
    ----------
    hole_mm : float
        Across.
    crown_mm : float
        How high the skin stands over the hole's edge in its middle.

    Source: [machinery], the spherical segment.

    >>> round(patch_blank_mm(100.0, 20.0), 4)
    107.7033
    """
    return float(np.sqrt(hole_mm**2 + 4.0 * crown_mm**2))

"""Flanges in closed form: how much a lip's edge stretches or shrinks, and what the metal allows.

A root line bends; its bend, as a vector 1/mm long and pointing to the inside of the curve, has a
share along the skin beyond the line (`in_skin`) and a share along the finished flange
(`in_flange`). A strip w wide that leaves a line has an edge (1 - w x bend along the strip) times
as long as the line, exact on circles. Laid flat the strip lies in the skin, finished it stands as
the flange: the ratio of the two edges is the stretch. The shop's two cases are its two ends:

- a lip turned off a wall: the wall rolls out straight, in_skin is 0;
- a flat edge tipped up: the line bends in the sheet itself, in_skin is 1 / R.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.errors import GeometryError
from geometry.metal.sheet_metal import Figure, SheetMetal

FlangeCase = Literal["lip off a wall", "flat edge tipped", "straight"]
FlangeVerdict = Literal["straight", "shrink", "within", "anneal", "beyond", "not known"]

SURE_STRAIGHT = 1e-4
"""A stretch nearer to none than this is none: a tenth of a millimetre on a metre."""


class FlangeTooWideError(GeometryError):
    """A flange as wide as its line's radius, or wider: its edge would have no length left.

    Attributes
    ----------
    width_mm, radius_mm : float
        Asked for, and the radius there.
    place : tuple of float
        Where, (x, y, z) mm; empty where it is no place of a tank.
    """

    def __init__(self, width_mm: float, radius_mm: float, place: tuple[float, ...] = ()) -> None:
        self.width_mm, self.radius_mm, self.place = width_mm, radius_mm, place
        super().__init__(f"a flange {width_mm:.6g} mm wide on a radius of {radius_mm:.6g} mm")


class FlangeWidthError(GeometryError):
    """A flange of no width, or narrower than its own bend takes.

    Attributes
    ----------
    width_mm, least_mm : float
        Asked for, and what it has to be wider than.
    """

    def __init__(self, width_mm: float, least_mm: float) -> None:
        self.width_mm, self.least_mm = width_mm, least_mm
        super().__init__(f"a flange {width_mm:.6g} mm wide, over {least_mm:.6g} mm needed")


def edge_per_root(width_mm: FloatArray | float, bend: FloatArray | float) -> FloatArray:
    """Return how long a strip's edge is for each length of its root line.

    Parameters
    ----------
    width_mm : (k,) float
        Of the strip.
    bend : (k,) float, 1/mm
        The line's, along the strip: above 0 where the strip lies to the inside of the curve.

    Raises
    ------
    FlangeTooWideError
        The strip reaches to the middle of the curve or beyond.

    >>> float(edge_per_root(10.0, 1 / 50.0)), float(edge_per_root(10.0, -1 / 50.0))
    (0.8, 1.2)
    """
    wide, curved = np.broadcast_arrays(np.asarray(width_mm, float), np.asarray(bend, float))
    ratio = 1.0 - wide * curved
    if np.any(ratio <= 1e-9):
        worst = int(np.argmin(ratio))
        raise FlangeTooWideError(float(wide.flat[worst]), 1.0 / float(curved.flat[worst]))
    return np.asarray(ratio)


def edge_stretch(
    flat_mm: FloatArray | float,
    finished_mm: FloatArray | float,
    in_skin: FloatArray | float,
    in_flange: FloatArray | float,
) -> FloatArray:
    """Return a flange's edge, finished over flat: above 1 it stretches, below it shrinks.

    Parameters
    ----------
    flat_mm, finished_mm : (k,) float
        Its width on the blank and finished, both from the root line.
    in_skin, in_flange : (k,) float, 1/mm
        The root line's bend along the skin beyond it, and along the finished flange.

    Raises
    ------
    FlangeTooWideError

    Source: own derivation, in the module's docstring.

    A wall of radius 50 with a lip of 10 turned square to the inside; a flat edge tipped square up
    round a hollow of 50:

    >>> float(edge_stretch(10.0, 10.0, 0.0, 1 / 50.0))
    0.8
    >>> float(edge_stretch(10.0, 10.0, 1 / 50.0, 0.0))
    1.25
    """
    return np.asarray(edge_per_root(finished_mm, in_flange) / edge_per_root(flat_mm, in_skin))


def lip_off_wall(
    width_mm: float, radius_mm: float, *, to_inside: bool, turn_rad: float = np.pi / 2.0
) -> float:
    """Return by how much of the root's length a lip turned off a wall gains; below 0 it loses.

    w sin(turn) / R for each length of root. Source: own derivation; common shop arithmetic.

    3/4 in on a radius of 12 in gathers 3/4 in on every foot:

    >>> 12.0 * lip_off_wall(0.75, 12.0, to_inside=True)
    -0.75
    """
    sign = 1.0 if to_inside else -1.0
    return float(edge_per_root(width_mm, sign * np.sin(turn_rad) / radius_mm)) - 1.0


def flat_edge_tipped(
    width_mm: float, radius_mm: float, *, concave: bool, turn_rad: float = np.pi / 2.0
) -> float:
    """Return by how much of the cut edge's length a flat edge gains, tipped up along a curve.

    (R - h cos a) / (R - h) - 1 along a concave line, (R + h cos a) / (R + h) - 1 along a convex
    one, for each length of the cut edge. Source: own derivation; [wang1974] for the model.

    >>> round(flat_edge_tipped(0.75, 3.0, concave=True), 6)
    0.333333
    """
    bend = (1.0 if concave else -1.0) / radius_mm
    return float(edge_stretch(width_mm, width_mm, bend, bend * np.cos(turn_rad))) - 1.0


def finished_if_free(
    flat_mm: FloatArray | float, in_skin: FloatArray | float, in_flange: FloatArray | float
) -> FloatArray:
    """Return how wide a flange comes out where its width is free to give, only hoop stress in it.

    Every strip of it then loses half of its stretch in width and half in thickness:
    (1 - W b)^1/2 dW = (1 - s a)^1/2 ds, a in the skin and b in the flange.

    Parameters
    ----------
    flat_mm : (k,) float
        Its width on the blank.
    in_skin, in_flange : (k,) float, 1/mm

    Raises
    ------
    FlangeTooWideError

    Source: own derivation; a flat edge tipped square up gives 2/3 R (1 - (1 - h/R)^1.5).

    >>> round(float(finished_if_free(10.0, 1 / 50.0, 0.0)), 6)
    9.481942
    """
    edge_per_root(flat_mm, in_skin)
    return _from_measure(_measure(flat_mm, in_skin), in_flange)


def flat_if_free(
    finished_mm: FloatArray | float, in_skin: FloatArray | float, in_flange: FloatArray | float
) -> FloatArray:
    """Return how wide to leave the blank for a finished width, its width free to give.

    >>> round(float(flat_if_free(9.481942, 1 / 50.0, 0.0)), 5)
    10.0
    """
    edge_per_root(finished_mm, in_flange)
    return _from_measure(_measure(finished_mm, in_flange), in_skin)


def lip_thickness(stretch: FloatArray | float) -> FloatArray:
    """Return the lip's thickness over the sheet's: 1 / sqrt(stretch), its width free to give.

    >>> round(float(lip_thickness(1.25)), 6), round(float(lip_thickness(50 / 60)), 6)
    (0.894427, 1.095445)
    """
    return np.asarray(1.0 / np.sqrt(stretch))


def case_of(in_skin: float, across_skin: float) -> FlangeCase:
    """Return which of the shop's two cases a line is nearer to.

    Parameters
    ----------
    in_skin, across_skin : float, 1/mm
        Its bend along the skin, and square to it.

    >>> case_of(0.0, 0.01), case_of(0.01, 0.001), case_of(0.0, 0.0)
    ('lip off a wall', 'flat edge tipped', 'straight')
    """
    if in_skin == 0.0 and across_skin == 0.0:
        return "straight"
    return "lip off a wall" if abs(across_skin) >= abs(in_skin) else "flat edge tipped"


def least_radius_mm(
    width_mm: float, elongation: float, case: FlangeCase, turn_rad: float = np.pi / 2.0
) -> float:
    """Return the tightest radius a stretch flange takes by an elongation; 0 on a straight line.

    w sin(turn) / e off a wall, h (1 + e - cos(turn)) / e where a flat edge is tipped.

    >>> least_radius_mm(10.0, 0.05, "lip off a wall"), least_radius_mm(1.0, 0.05, "straight")
    (200.0, 0.0)
    >>> round(least_radius_mm(10.0, 0.05, "flat edge tipped"), 6)
    210.0
    """
    if case == "straight":
        return 0.0
    if case == "lip off a wall":
        return float(width_mm * np.sin(turn_rad) / elongation)
    return float(width_mm * (1.0 + elongation - np.cos(turn_rad)) / elongation)


@dataclass(frozen=True)
class FlangeGuide:
    """What a metal's figures say to a lip's stretch: a guide, elongation is a tensile test's.

    Attributes
    ----------
    verdict : str
        "within": as bought; "anneal": only once annealed; "beyond": not even then; "shrink": no
        tensile figure bounds a gather; "straight": folded, neither; "not known": no figure.
    elongation, annealed : Figure or None
        What the metal must show as bought and once annealed.
    """

    verdict: FlangeVerdict
    elongation: Figure | None
    annealed: Figure | None


def flange_guide(stretch: float, metal: SheetMetal | None, thickness_mm: float) -> FlangeGuide:
    """Return what a metal says to a lip's stretch (finished over flat).

    >>> from geometry.metal.known import sheet_metal
    >>> flange_guide(1.08, sheet_metal("3003-H14"), 1.6).verdict
    'anneal'
    """
    bought = metal.elongation_at(thickness_mm) if metal is not None else None
    soft = metal.annealed_at(thickness_mm) if metal is not None else None
    return FlangeGuide(_verdict(stretch - 1.0, bought, soft), bought, soft)


def _verdict(drawn: float, bought: Figure | None, soft: Figure | None) -> FlangeVerdict:
    if abs(drawn) < SURE_STRAIGHT:
        return "straight"
    if drawn < 0.0:
        return "shrink"
    if bought is None:
        return "not known"
    if drawn <= bought.value + 1e-9:
        return "within"
    return "anneal" if soft is not None and drawn <= soft.value + 1e-9 else "beyond"


def _measure(width_mm: FloatArray | float, bend: FloatArray | float) -> FloatArray:
    """Return the integral of (1 - s bend)^1/2 from 0 to a width."""
    wide, curved = np.broadcast_arrays(np.asarray(width_mm, float), np.asarray(bend, float))
    safe = np.where(curved == 0.0, 1.0, curved)
    slim = np.minimum(wide * safe, 1.0 - 1e-9)
    bent = -np.expm1(1.5 * np.log1p(-slim)) / (1.5 * safe)
    return np.asarray(np.where(curved == 0.0, wide, bent))


def _from_measure(measure: FloatArray, bend: FloatArray | float) -> FloatArray:
    """Return the width whose integral is given.

    Raises
    ------
    FlangeTooWideError
        There is none: it would reach the middle of the curve.
    """
    whole, curved = np.broadcast_arrays(measure, np.asarray(bend, float))
    slim = 1.5 * whole * curved
    if np.any(slim >= 1.0 - 1e-9):
        worst = int(np.argmax(slim))
        raise FlangeTooWideError(float(whole.flat[worst]), 1.0 / float(curved.flat[worst]))
    safe = np.where(curved == 0.0, 1.0, curved)
    bent = -np.expm1(np.log1p(-np.where(curved == 0.0, 0.0, slim)) * (2.0 / 3.0)) / safe
    return np.asarray(np.where(curved == 0.0, whole, bent))

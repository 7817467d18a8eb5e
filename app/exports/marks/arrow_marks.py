"""Which way the blank lies on the tank and in the sheet: arrows to FRONT and TOP, and the grain.

Arrows stand at their own angle, however the blank is turned on its pages.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from app.exports.drawing import Line, Meaning
from app.exports.facts import JobFacts, PanelSheet, TankModel
from geometry.arrays import BoolArray, FloatArray
from geometry.pattern import FlatSheet, Pattern, flat_areas

LEVEL_DEG = 15.0
"""A panel that rises less than this at its middle lies level: no way on it is up."""

_NEAR = 0.3
"""Up is taken over so much of the blank's longer side round its middle."""

FACES_DEG = 40.0
"""A panel whose middle faces so near to front or to the seat shows no way to it: it has words."""

_DOWN_DEG = 10.0
"""TOP hangs down where it points further than this below level."""

GRAIN_DEG = 30.0
"""A bend that lies nearer to the grain than this may crack; common practice, no source."""

REACH_MM = 12.0
_SLIVER = 1e-9
"""Triangles thinner than this carry no direction."""

_BARB = (0.28, 0.11)
_OCTANTS = "\u2192\u2197\u2191\u2196\u2190\u2199\u2193\u2198"

Head = Literal["one", "both"]


@dataclass(frozen=True, eq=False)
class Way:
    """A direction on paper with its word, or the words that stand where there is none.

    Attributes
    ----------
    words : str
    direction : (2,) float or None
    meaning : Meaning
    """

    words: str
    direction: FloatArray | None = None
    meaning: Meaning = Meaning.MARK


def ways(sheet: PanelSheet) -> tuple[Way, Way, Way]:
    """Return the ways to FRONT and TOP and along the grain, as the blank lies on its pages."""
    return front_way(sheet), top_way(sheet), grain_way(sheet)


def front_way(sheet: PanelSheet) -> Way:
    """Return the way to the tank's front, along the blank's +u, or that the panel faces it."""
    if not sheet.front_along_u:
        return Way("FRONT NOT SET")
    if sheet.tank.front is not None:
        off = _front_off(sheet.flat, sheet.tank, sheet.pattern)
        if min(off, 180.0 - off) < FACES_DEG:
            return Way("FACES FRONT" if off < 90.0 else "FACES THE SEAT")
    return Way("FRONT", sheet.lay.front)


def top_way(sheet: PanelSheet) -> Way:
    """Return the way up on the finished panel, carried to the blank at its middle."""
    if sheet.tank.up is None:
        return Way("TOP NOT SET")
    up = _up(sheet.flat, sheet.tank, sheet.pattern)
    if up is None:
        return Way("LIES LEVEL: NO TOP")
    return Way("TOP", sheet.lay.on_paper(up))


@lru_cache(maxsize=16)
def _front_off(flat: FlatSheet, tank: TankModel, pattern: Pattern) -> float:
    """Return how far off FRONT a panel faces in its middle; each page of it asks again."""
    return 90.0 if tank.front is None else degrees_off(flat, tank.front, pattern.centre)


@lru_cache(maxsize=16)
def _up(flat: FlatSheet, tank: TankModel, pattern: Pattern) -> FloatArray | None:
    """Return the way up on a blank in its middle; each page of it asks again."""
    return None if tank.up is None else up_on_blank(flat, tank.up, pattern.centre)


@lru_cache(maxsize=16)
def top_up(sheet: PanelSheet) -> PanelSheet:
    """Return a sheet turned by half a turn where TOP would hang down on its pages."""
    top = top_way(sheet).direction
    if top is None or top[1] > -np.sin(np.radians(_DOWN_DEG)):
        return sheet
    return replace(sheet, turn_rad=sheet.turn_rad + np.pi)


def grain_way(sheet: PanelSheet) -> Way:
    """Return the way of the sheet's grain on the blank."""
    if sheet.job.grain == "any":
        return Way("GRAIN: ANY WAY")
    return Way("GRAIN", sheet.lay.on_paper(grain_on_blank(sheet.job)), Meaning.GRAIN)


def grain_on_blank(job: JobFacts) -> FloatArray:
    """Return the grain's direction on the blank, (2,): along FRONT or across it."""
    return np.array([0.0, 1.0]) if job.grain == "across" else np.array([1.0, 0.0])


def up_on_blank(flat: FlatSheet, up: FloatArray, middle: FloatArray) -> FloatArray | None:
    """Return a direction of the tank as it lies on the blank round a place; None where level.

    Every triangle carries it from its formed plane to its flat one.

    Parameters
    ----------
    flat : FlatSheet
    up : (3,) float
        Of any length.
    middle : (2,) float, mm
        On the blank.

    Returns
    -------
    (2,) float, of length one, or None
    """
    corners, laid = flat.vertices[flat.faces], flat.flat_vertices[flat.faces]
    near = _near(flat, middle)
    formed, flat_sides = _sides(corners[near]), _sides(laid[near])
    products = np.einsum("nik,njk->nij", formed, formed)
    sound = np.linalg.det(products) > _SLIVER * np.einsum("nii->n", products) ** 2
    if not sound.any():
        return None
    formed, flat_sides, products = formed[sound], flat_sides[sound], products[sound]
    onto = np.einsum("nik,k->ni", formed, up / np.linalg.norm(up))
    parts = np.linalg.solve(products, onto[..., None])[..., 0]  # the part of up in the plane
    carried = np.einsum("ni,nij->nj", parts, flat_sides)
    areas = flat_areas(flat.flat_vertices, flat.faces)[near][sound]
    mean = np.average(carried, axis=0, weights=areas)
    length = float(np.linalg.norm(mean))
    return None if length < np.sin(np.radians(LEVEL_DEG)) else np.asarray(mean / length)


def degrees_off(flat: FlatSheet, way: FloatArray, middle: FloatArray) -> float:
    """Return how far off a direction of the tank the outside faces round a place, 0 to 180."""
    sides = _sides(flat.vertices[flat.faces[_near(flat, middle)]])
    outward = np.cross(sides[:, 0], sides[:, 1]).sum(axis=0)
    length = float(np.linalg.norm(outward) * np.linalg.norm(way))
    if length == 0.0:
        return 90.0
    return float(np.degrees(np.arccos(np.clip(outward @ way / length, -1.0, 1.0))))


def _near(flat: FlatSheet, middle: FloatArray) -> BoolArray:
    """Return which triangles lie round a place on the blank; the nearest at least."""
    reach = _NEAR * float(np.ptp(flat.flat_vertices, axis=0).max())
    off = np.linalg.norm(flat.flat_vertices[flat.faces].mean(axis=1) - middle, axis=1)
    return np.asarray(off <= max(reach, float(off.min())))


def _sides(corners: FloatArray) -> FloatArray:
    """Return the two sides (n, 2, ...) of triangles that leave their first corner."""
    return np.asarray(corners[:, 1:] - corners[:, :1])


def arrow_lines(middle: FloatArray, way: Way, reach_mm: float = REACH_MM) -> list[Line]:
    """Return an arrow of a length along a way, its middle at a place; the grain has two heads."""
    if way.direction is None:
        return []
    along = way.direction / np.linalg.norm(way.direction)
    across = np.array([-along[1], along[0]])
    half = 0.5 * reach_mm * along
    lines = [Line(way.meaning, np.stack([middle - half, middle + half]))]
    for end in (1.0, -1.0) if way.meaning is Meaning.GRAIN else (1.0,):
        tip = middle + end * half
        back = tip - end * _BARB[0] * reach_mm * along
        barbs = [back + side * _BARB[1] * reach_mm * across for side in (1.0, -1.0)]
        lines.append(Line(way.meaning, np.stack([barbs[0], tip, barbs[1]])))
    return lines


def arrow_sign(direction: FloatArray) -> str:
    """Return the arrow nearest to a direction among the eight a line of text has.

    >>> arrow_sign(np.array([-1.0, 0.1])), arrow_sign(np.array([1.0, 1.0]))
    ('\u2190', '\u2197')
    """
    turn = np.degrees(np.arctan2(direction[1], direction[0]))
    return _OCTANTS[int(np.round(turn / 45.0)) % 8]


def line_sign(direction: FloatArray) -> str:
    """Return the sign nearest to a line's direction, either way along it.

    >>> line_sign(np.array([-1.0, 0.1])), line_sign(np.array([0.1, -1.0]))
    ('\u2194', '\u2195')
    """
    turn = np.degrees(np.arctan2(direction[1], direction[0]))
    return "\u2194\u2197\u2195\u2196"[int(np.round(turn / 45.0)) % 4]


def ways_text(sheet: PanelSheet) -> str:
    """Return FRONT and TOP in one line of text, each with the arrow nearest to it."""
    front, top = front_way(sheet), top_way(sheet)
    told = [
        way.words if way.direction is None else f"{arrow_sign(way.direction)} {way.words}"
        for way in (front, top)
    ]
    return (", " if front.direction is None else "   ").join(told)


def grain_warning(sheet: PanelSheet) -> str:
    """Return that a bend lies too near along the grain, and where; "" where none does."""
    if sheet.job.grain == "any":
        return ""
    grain = grain_on_blank(sheet.job)
    folds = [roll.points for roll in sheet.pattern.rolls if roll.is_fold]
    folds += [bend.points for bend in sheet.pattern.bend_lines]
    nearest = min((_angle_between(points, grain) for points in folds), default=90.0)
    if nearest > GRAIN_DEG:
        return ""
    return (
        f"A BEND LIES {nearest:.0f}\u00b0 OFF THE GRAIN: within {GRAIN_DEG:.0f} it may "
        "crack. Turn the blank on the sheet, or bend a test strip first."
    )


def _angle_between(points: FloatArray, grain: FloatArray) -> float:
    """Return the angle between a line, end to end, and the grain, 0 to 90 degrees."""
    way = points[-1] - points[0]
    length = float(np.linalg.norm(way))
    if length == 0.0:
        return 90.0
    return float(np.degrees(np.arccos(min(1.0, abs(float(way @ grain)) / length))))

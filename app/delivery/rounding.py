"""Lengths as results tell them, to a thousandth of a millimetre; angles in radians and degrees."""

import math
from collections.abc import Iterable


def told_mm(length_mm: float) -> float:
    """Return a length as it is told.

    >>> told_mm(12.34567)
    12.346
    """
    return round(float(length_mm), 3)


def told_place(coordinates_mm: Iterable[float]) -> list[float]:
    """Return a place as it is told.

    >>> told_place((1.23456, -2.0))
    [1.235, -2.0]
    """
    return [told_mm(each) for each in coordinates_mm]


def told_angle(name: str, angle_rad: float, *, decimals: int = 6) -> dict[str, float]:
    """Return an angle as it is told: in radians to so many decimals, and in degrees.

    >>> told_angle("lean", math.radians(12.0))
    {'lean_rad': 0.20944, 'lean_deg': 12.0}
    """
    return {
        f"{name}_rad": round(angle_rad, decimals),
        f"{name}_deg": round(math.degrees(angle_rad), decimals - 2),
    }

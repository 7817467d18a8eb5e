"""Lengths as results tell them: to a thousandth of a millimetre."""

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

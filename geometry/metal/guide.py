"""A panel's stretches held against a metal's figures: guides for the maker, never verdicts."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.metal.sheet_metal import Figure, SheetMetal

LEAST_MM = 1.2
"""Thickness below which an outer skin is marked, unless the maker says otherwise. Common practice,
no source."""

_NEARLY_ALL = 0.99
"""Of the area: anneals are counted for the hardest-worked place once the worst hundredth is left
out, for there single triangles speak."""


@dataclass(frozen=True, eq=False)
class MetalGuide:
    """What a panel asks of a metal, beside what the metal's figures say.

    Attributes
    ----------
    metal : SheetMetal
    thickness_mm : float
        Of the sheet.
    largest_stretch : float
        Of any face, as an elongation: 0.05 is 100 drawn to 105; nought where nothing is stretched.
    worst_face : int
        Where.
    elongation : Figure or None
        What the metal must show in a tensile test as bought; the maker's own if given; None where
        not known.
    share_beyond : float or None
        Of the formed area: faces stretched further than that.
    largest_work : float
        Equivalent strain that 99 % of the area stays below: shrinking hardens metal as well.
    annealed : Figure or None
        As `elongation`, once annealed.
    anneals : int or None
        How many at least, by those figures: each begins the metal's strain again.
    thinnest_mm : float
        Of any face, once formed.
    thinnest_face : int
    least_mm : float
        Thinnest the maker accepts.
    thin : (m,) bool
        Faces thinner than that.
    thin_area : float, mm2
        Of them, formed.
    """

    metal: SheetMetal
    thickness_mm: float
    largest_stretch: float
    worst_face: int
    elongation: Figure | None
    share_beyond: float | None
    largest_work: float
    annealed: Figure | None
    anneals: int | None
    thinnest_mm: float
    thinnest_face: int
    least_mm: float
    thin: BoolArray
    thin_area: float


def against_metal(
    stretches: FloatArray,
    areas: FloatArray,
    thickness: FloatArray,
    metal: SheetMetal,
    thickness_mm: float,
    *,
    least_mm: float = LEAST_MM,
    elongation: float | None = None,
    annealed: float | None = None,
) -> MetalGuide:
    """Return what a panel asks of a metal.

    Parameters
    ----------
    stretches : (m, 2) float
        Formed over flat, larger first.
    areas : (m,) float, mm2
        Of the faces, formed.
    thickness : (m,) float
        Formed over the sheet's.
    metal : SheetMetal
    thickness_mm : float
    least_mm : float
    elongation, annealed : float, optional
        The maker's own figures, instead of the metal's.

    Notes
    -----
    A bar drawn evenly to a tensile strain e has equivalent strain e as well, so elongations, as
    logarithms, are what equivalent strain is counted in: as bought first, once annealed after each
    anneal. Source of the equivalent strain: von Mises, plane stress, volume kept.
    """
    own = "the maker's own"
    bought = metal.elongation_at(thickness_mm) if elongation is None else Figure(elongation, own)
    soft = metal.annealed_at(thickness_mm) if annealed is None else Figure(annealed, own)
    drawn = stretches[:, 0] - 1.0
    work = _below(equivalent_strain(stretches), areas, _NEARLY_ALL)
    formed_mm = thickness * thickness_mm
    thin = formed_mm < least_mm
    beyond = None if bought is None else float(areas[drawn > bought.value].sum() / areas.sum())
    return MetalGuide(
        metal=metal,
        thickness_mm=thickness_mm,
        largest_stretch=max(float(drawn.max()), 0.0),
        worst_face=int(drawn.argmax()),
        elongation=bought,
        share_beyond=beyond,
        largest_work=work,
        annealed=soft,
        anneals=_anneals(work, bought, soft),
        thinnest_mm=float(formed_mm.min()),
        thinnest_face=int(formed_mm.argmin()),
        least_mm=least_mm,
        thin=locked(thin),
        thin_area=float(areas[thin].sum()),
    )


def equivalent_strain(stretches: FloatArray) -> FloatArray:
    """Return the (m,) equivalent plastic strain of (m, 2) stretches in plane stress.

    Source: [hill1950], von Mises' measure, volume kept.

    >>> equivalent_strain(np.exp([[0.05, 0.05], [0.1, -0.05], [0.1, 0.0]])).round(6).tolist()
    [0.1, 0.1, 0.11547]
    """
    one, two = np.log(stretches).T
    return np.asarray(np.sqrt(4.0 / 3.0 * (one * one + one * two + two * two)))


def _anneals(work: float, bought: Figure | None, soft: Figure | None) -> int | None:
    if bought is None:
        return None
    left = work - np.log1p(bought.value)
    if left <= 1e-12:
        return 0
    if soft is None or soft.value <= 0.0:
        return None
    return int(np.ceil(left / np.log1p(soft.value) - 1e-9))


def _below(values: FloatArray, areas: FloatArray, share: float) -> float:
    """Return the value that faces with a share of the area do not pass."""
    order = np.argsort(values)
    covered = np.cumsum(areas[order])
    at = min(int(np.searchsorted(covered, share * covered[-1])), len(values) - 1)
    return float(values[order][at])

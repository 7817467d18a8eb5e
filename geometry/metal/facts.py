"""A metal the maker adds: plain facts, as a settings file has them, made a `SheetMetal`."""

import math
from collections.abc import Mapping, Sequence

from geometry.errors import GeometryError
from geometry.metal.sheet_metal import Figure, FigureByThickness, SheetMetal


class MetalFactsError(GeometryError):
    """Facts that make no metal; its kinds say which and why."""


class MissingFactError(MetalFactsError):
    """A fact no metal can do without.

    Attributes
    ----------
    fact : str
    """

    def __init__(self, fact: str) -> None:
        self.fact = fact
        super().__init__(f"{fact} is missing")


class BadFactError(MetalFactsError):
    """A fact that cannot be.

    Attributes
    ----------
    fact : str
        With the number of its row, from 0, where it is one of several.
    found : object
    wanted : str
        What it may be.
    """

    def __init__(self, fact: str, found: object, wanted: str) -> None:
        self.fact, self.found, self.wanted = fact, found, wanted
        super().__init__(f"{fact} is {found!r}; it must be {wanted}")


_KNOWN = frozenset(
    {
        "alloy",
        "temper",
        "density",
        "elongation",
        "usual_elongation",
        "annealed",
        "hardening",
        "bend_radius",
        "source",
    }
)


def metal_from_facts(facts: Mapping[str, object]) -> SheetMetal:
    """Return a metal from the maker's own facts.

    Parameters
    ----------
    facts : mapping
        `alloy` (text) and `density` (g/cm3) must be there. `temper` (text), `usual_elongation` and
        `hardening` (numbers) may be. `elongation`, `annealed` and `bend_radius` are one number for
        all thicknesses, or rows {"over_mm", "up_to_mm", "value"}; elongations as shares (0.05),
        bend radii in thicknesses. `source` (text) says where they come from; "the maker's own"
        if it is not there.

    Raises
    ------
    MissingFactError, BadFactError

    >>> metal_from_facts({"alloy": "5754", "density": 2.67, "elongation": 0.16}).elongation_at(1.5)
    Figure(value=0.16, source="the maker's own")
    """
    for name in facts:
        if name not in _KNOWN:
            raise BadFactError(str(name), facts[name], f"one of {', '.join(sorted(_KNOWN))}")
    for name in ("alloy", "density"):
        if name not in facts:
            raise MissingFactError(name)
    source = _text(facts, "source") or "the maker's own"
    alloy = _text(facts, "alloy")
    if not alloy:
        raise BadFactError("alloy", facts["alloy"], "a name")
    density = _figure(facts, "density", (0.5, 25.0), source)
    if density is None:
        raise MissingFactError("density")
    return SheetMetal(
        alloy=alloy,
        temper=_text(facts, "temper"),
        density=density,
        elongation=_rows(facts, "elongation", (0.0, 2.0), source),
        usual_elongation=_figure(facts, "usual_elongation", (0.0, 2.0), source),
        annealed=_rows(facts, "annealed", (0.0, 2.0), source),
        hardening=_figure(facts, "hardening", (0.0, 1.0), source),
        bend_radius=_rows(facts, "bend_radius", (0.0, 50.0), source),
    )


def _text(facts: Mapping[str, object], name: str) -> str:
    found = facts.get(name, "")
    if not isinstance(found, str):
        raise BadFactError(name, found, "text")
    return found.strip()


def _number(name: str, found: object, least: float, most: float) -> float:
    if isinstance(found, bool) or not isinstance(found, int | float) or not math.isfinite(found):
        raise BadFactError(name, found, "a number")
    if not least <= found <= most:
        raise BadFactError(name, found, f"a number from {least:g} to {most:g}")
    return float(found)


def _figure(
    facts: Mapping[str, object], name: str, limits: tuple[float, float], source: str
) -> Figure | None:
    found = facts.get(name)
    return None if found is None else Figure(_number(name, found, *limits), source)


def _rows(
    facts: Mapping[str, object], name: str, limits: tuple[float, float], source: str
) -> tuple[FigureByThickness, ...]:
    """Return rows that follow each other from thin to thick."""
    found = facts.get(name)
    if found is None:
        return ()
    if not isinstance(found, Sequence) or isinstance(found, str):
        whole = Figure(_number(name, found, *limits), source)
        return (FigureByThickness(0.0, math.inf, whole),)
    rows: list[FigureByThickness] = []
    for index, row in enumerate(found):
        place = f"{name} {index}"
        if not isinstance(row, Mapping):
            raise BadFactError(place, row, "a row with over_mm, up_to_mm and value")
        for part in ("over_mm", "up_to_mm", "value"):
            if part not in row:
                raise MissingFactError(f"{place} {part}")
        over = _number(f"{place} over_mm", row["over_mm"], 0.0, 100.0)
        up_to = _number(f"{place} up_to_mm", row["up_to_mm"], 0.0, 100.0)
        if up_to <= over or (rows and over < rows[-1].up_to_mm):
            raise BadFactError(
                place, (over, up_to), "thicker than the row before, from thin to thick"
            )
        value = _number(f"{place} value", row["value"], *limits)
        rows.append(FigureByThickness(over, up_to, Figure(value, source)))
    return tuple(rows)

"""Two ways to make one panel, side by side: both blanks laid on each other, and how they differ."""

from dataclasses import dataclass, replace

import numpy as np

from app.job.answers.answer import Answer, answer
from app.job.choices import BlankChoice, Directions
from app.job.making import Blank, blank_step
from app.units import area_text, decimal_inch_text, length_text, mm_text, size_text, thickness_text
from geometry.arrays import FloatArray, locked
from geometry.panels import Panel
from geometry.progress import Report, part_of, silent


@dataclass(frozen=True, eq=False)
class Comparison:
    """A panel made two ways; neither is the job's until the maker takes it.

    Attributes
    ----------
    panel : Panel
        The very panel both were made from.
    choices : (BlankChoice, BlankChoice)
    blanks : (Blank, Blank)
        The second moved and turned so that it lies on the first as well as it can.
    """

    panel: Panel
    choices: tuple[BlankChoice, BlankChoice]
    blanks: tuple[Blank, Blank]


@dataclass(frozen=True)
class ComparedRow:
    """One line of the table: what it is, the two values, and the second less the first."""

    name: str
    first: str
    second: str
    difference: str


def compared(
    panel: Panel,
    choices: tuple[BlankChoice, BlankChoice],
    directions: Directions,
    *,
    report: Report = silent,
) -> Comparison:
    """Return a panel laid flat two ways."""
    blanks = [
        blank_step(
            panel, choice.work, choice.exact, directions.front,
            report=part_of(report, place / 2.0, (place + 1) / 2.0),
        )
        for place, choice in enumerate(choices)
    ]  # fmt: skip
    return Comparison(panel, choices, (blanks[0], laid_on(blanks[0], blanks[1])))


def laid_on(first: Blank, second: Blank) -> Blank:
    """Return the second blank moved and turned onto the first, nothing else changed.

    The turn with the least sum of squares between the places of the same vertices; own derivation:
    in the plane it is the angle of the sum of products of complex places about their means.
    """
    here, there = first.flat.flat_vertices, second.flat.flat_vertices
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    turn = np.arctan2((b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]).sum(), (a * b).sum())
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])

    def moved(points: FloatArray) -> FloatArray:
        return np.asarray((points - there.mean(axis=0)) @ matrix + here.mean(axis=0))

    flat = replace(
        second.flat,
        flat_vertices=locked(moved(there)),
        overlap_place=moved(second.flat.overlap_place),
    )
    return replace(second, flat=flat)


def compared_rows(
    found: Comparison, *, sheet_mm: float, trim_mm: float, show: str = "mm"
) -> tuple[ComparedRow, ...]:
    """Return the table: sizes to cut, areas, thinnest and thickest, what the edge takes up."""
    one, two = (answer(blank, sheet_mm=sheet_mm, trim_mm=trim_mm) for blank in found.blanks)
    wide, high = (two.cut_mm[k] - one.cut_mm[k] for k in (0, 1))
    return (
        ComparedRow(
            "Size to cut", size_text(*one.cut_mm, show), size_text(*two.cut_mm, show),
            f"{_signed(wide, show)} along, {_signed(high, show)} across",
        ),
        ComparedRow(
            "Area", area_text(one.blank_area, show), area_text(two.blank_area, show),
            _sign(two.blank_area - one.blank_area)
            + area_text(abs(two.blank_area - one.blank_area), show, 1),
        ),
        *(_thickness_row(*names, one, two, show) for names in _THICKNESSES),
        *(_edge_row(*names, one, two, show) for names in _EDGES),
    )  # fmt: skip


_THICKNESSES = (("Thinnest", "thinnest_mm"), ("Thickest", "thickest_mm"))
_EDGES = (("Edge, taken up", "take_up_mm"), ("Edge, let out", "let_out_mm"))


def _thickness_row(name: str, field: str, one: Answer, two: Answer, show: str) -> ComparedRow:
    first, second = getattr(one, field), getattr(two, field)
    difference = _sign(second - first) + thickness_text(abs(second - first), show)
    return ComparedRow(name, thickness_text(first, show), thickness_text(second, show), difference)


def _edge_row(name: str, field: str, one: Answer, two: Answer, show: str) -> ComparedRow:
    first, second = getattr(one, field), getattr(two, field)
    return ComparedRow(
        name,
        length_text(first, show, 32),
        length_text(second, show, 32),
        _signed(second - first, show),
    )


def _signed(by_mm: float, show: str) -> str:
    if mm_text(by_mm) == "0 mm":
        return "the same"
    words = length_text(abs(by_mm), show, 32)
    if words.startswith("0 in"):  # less than a rule's line, and yet something
        words = f"{decimal_inch_text(abs(by_mm))} ({mm_text(abs(by_mm))})"
    return _sign(by_mm) + words


def _sign(value: float) -> str:
    return "+" if value >= 0.0 else "\u2212"

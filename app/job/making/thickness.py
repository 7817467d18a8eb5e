"""Three ways to make a panel by how thick it ends on average, in the shaper's words."""

from dataclasses import dataclass

from app.units import area_text, thickness_text
from geometry.blank import FlatPanel, ThicknessCases, thickness_cases
from geometry.progress import Report, silent

_WAYS = (
    ("all_stretched", "All stretched, the edge kept as long as it is"),
    ("equal_area", "Blank of the skin's own area"),
    ("none_stretched", "None stretched, the edge tucked"),
)


@dataclass(frozen=True, eq=False)
class Thicknesses:
    """The three cases of one blank, or none where it did not settle.

    Attributes
    ----------
    cases : ThicknessCases or None
    """

    cases: ThicknessCases | None


def thicknesses(flat: FlatPanel, *, report: Report = silent) -> Thicknesses:
    """Return how thick a panel ends on average, made three ways."""
    return Thicknesses(thickness_cases(flat, report=report) if flat.converged else None)


def case_words(found: Thicknesses | None, sheet_mm: float, show: str = "mm") -> tuple[str, ...]:
    """Return the three cases, one a line below a heading; none where they are not known.

    >>> case_words(None, 1.6)
    ()
    """
    if found is None or found.cases is None:
        return ()
    lines = []
    for field, words in _WAYS:
        case = getattr(found.cases, field)
        lines.append(
            f"{words}: {thickness_text(case.mean_mm(sheet_mm), show)}, "
            f"from a blank of {area_text(case.blank_area, show)}"
        )
    return ("Mean thickness of the finished panel, made three ways:", *lines)

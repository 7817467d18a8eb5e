"""Why nothing may be cut from a blank: one list, for the page in capitals and as a sentence."""

from enum import Enum
from typing import Protocol

import numpy as np

from app.units import area_text, length_text, plain_number
from geometry.arrays import FloatArray

LEAST_TRIM_MM = 12.7
"""Half an inch: no cutting line leaves closer to the net line than this."""

TOO_LITTLE_OVERLAP_MM2 = 1e-6
"""Overlap of a blank with itself below this is rounding."""


class LaidOut(Protocol):
    """What has to be known of a blank."""

    @property
    def converged(self) -> bool:
        """Whether the layout is settled."""

    @property
    def inverted(self) -> int:
        """Folded faces."""

    @property
    def unsound_faces(self) -> int:
        """Faces past the limit of stability."""

    @property
    def overlap_area(self) -> float:
        """Metal counted twice, mm2."""


class Overlapping(LaidOut, Protocol):
    """And where it lies over itself."""

    @property
    def overlap_place(self) -> FloatArray:
        """(2,) a point of it on the blank, mm."""


class TooDeep(LaidOut, Protocol):
    """And where it is past the limit of stability."""

    @property
    def unsound_place(self) -> FloatArray:
        """(3,) a point of that on the panel, mm; not-a-number where there is none."""


class NoCut(Enum):
    """A reason; its value is the words for a page and the sentence for everywhere else."""

    SIZE = (
        "SIZE NOT TAPED",
        "SIZE NOT TAPED: two taped distances in different directions must agree first.",
    )
    TRIM = (
        "TRIM UNDER 12.7 mm (1/2 in)",
        "The trim is under 12.7 mm (1/2 in): too little to work an edge with.",
    )
    FOLDED = ("THE BLANK IS FOLDED", "The blank is folded: it needs another seam.")
    OVERLAP = (
        "THE BLANK LIES OVER ITSELF: ADD A SEAM",
        "The blank lies over itself: it needs another seam.",
    )
    DEEP = (
        "TOO DEEP FOR ONE PIECE: ADD A SEAM",
        "The blank did not settle: the panel is too deep to lay flat without another seam.",
    )
    UNSETTLED = (
        "THE BLANK IS NOT SETTLED",
        "The blank did not settle: lay it flat again, or add a seam.",
    )

    @property
    def capitals(self) -> str:
        """Return the words for a page."""
        return self.value[0]

    @property
    def sentence(self) -> str:
        """Return the sentence."""
        return self.value[1]


def no_cut(
    flat: LaidOut, *, size_proved: bool, trim_mm: float, has_trim: bool = True
) -> NoCut | None:
    """Return the first reason why nothing may be cut from a blank, or None.

    Parameters
    ----------
    flat : LaidOut
    size_proved : bool
        Whether tapes prove the size.
    trim_mm : float
    has_trim : bool
        Whether a trim line could be drawn; none can where the net line crosses itself.
    """
    doubled = flat.overlap_area > TOO_LITTLE_OVERLAP_MM2 or not has_trim
    reasons = {
        NoCut.SIZE: not size_proved,
        NoCut.TRIM: trim_mm < LEAST_TRIM_MM - 1e-6,
        NoCut.FOLDED: flat.inverted > 0,
        NoCut.OVERLAP: doubled,
        NoCut.DEEP: flat.unsound_faces > 0,
        NoCut.UNSETTLED: not flat.converged,
    }
    return next((reason for reason, holds in reasons.items() if holds), None)


def overlap_words(flat: Overlapping, show: str = "mm") -> str:
    """Return where and by how much a blank lies over itself, in a sentence; "" where it does not.

    The place is on the blank, from its middle.
    """
    if not flat.overlap_area > TOO_LITTLE_OVERLAP_MM2:
        return ""
    told = f"The blank lies over itself by {area_text(flat.overlap_area, show, 1)}"
    u, v = flat.overlap_place
    if np.isfinite(u + v):
        across, along = ("right", u) if u >= 0.0 else ("left", -u)
        way, up = ("up", v) if v >= 0.0 else ("down", -v)
        told += (
            f", {length_text(along, show)} to the {across} and {length_text(up, show)} {way} from "
            "its middle, seen from the outside"
        )
    return f"{told}: it needs another seam."


def deep_words(flat: TooDeep) -> str:
    """Return where a panel is too deep for one piece, in a sentence; "" where it is not.

    The place is on the tank, in mm of the scan's own axes.
    """
    place = flat.unsound_place
    if not flat.unsound_faces or not np.isfinite(place).all():
        return ""
    where = ", ".join(plain_number(value) for value in place)
    return (
        f"The panel is too deep for one piece about the place ({where}) mm on the tank: "
        "add a seam near there."
    )

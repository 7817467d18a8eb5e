"""What is hatched on the tank, and the words for it: not scanned, or made from the other hand."""

import numpy as np

from app.window.legend import NOT_SCANNED, Swatch, mirrored
from app.window.scene import PaintedMarks
from geometry.arrays import BoolArray, FloatArray, IntArray

STRIPE_MM = 7.0


def painted_marks(
    vertices: FloatArray,
    faces: IntArray,
    guessed: BoolArray,
    copied: BoolArray | None,
    mm_per_unit: float,
) -> PaintedMarks | None:
    """Return what is hatched of a surface; None where all of it was scanned."""
    made_of_other = np.zeros(len(faces), bool) if copied is None else copied
    if not (guessed.any() or made_of_other.any()):
        return None
    return PaintedMarks(vertices, faces, guessed, made_of_other, STRIPE_MM / mm_per_unit)


def mark_swatches(marks: PaintedMarks | None, side: str = "") -> tuple[Swatch, ...]:
    """Return what the hatches mean; always told where there are any."""
    if marks is None:
        return ()
    found = (NOT_SCANNED,) if marks.guessed.any() else ()
    return (*found, mirrored(side)) if (marks.copied & ~marks.guessed).any() else found

"""Where a seam in the hand meets itself: marked and said while it is drawn or moved. No Qt."""

from dataclasses import dataclass

from app.window.seam_ground import Ground
from geometry.arrays import FloatArray
from geometry.seams import self_meetings

_KINDS = {"crosses": "crosses itself", "doubles back": "doubles back"}


@dataclass(frozen=True, eq=False)
class Met:
    """A place where a seam meets itself.

    Attributes
    ----------
    point : (3,) float
        File coordinates.
    kind : "crosses" or "doubles back"
    """

    point: FloatArray
    kind: str

    def words(self) -> str:
        """Return what is said beside the mark."""
        return f"{_KINDS[self.kind]} here"


def met_along(line: FloatArray, ground: Ground, *, closed: bool = False) -> tuple[Met, ...]:
    """Return where a line, file coordinates, meets itself, in order along it."""
    if len(line) < 3:
        return ()
    found = self_meetings(line * ground.mm_per_unit, closed=closed)
    return tuple(Met(meeting.point / ground.mm_per_unit, meeting.kind) for meeting in found)


def met_words(met: tuple[Met, ...]) -> str:
    """Return what is wrong with a seam that meets itself, "" where it does not.

    >>> import numpy as np
    >>> met_words((Met(np.zeros(3), "crosses"),))
    'The seam crosses itself (square mark): it cannot be cut so.'
    """
    if not met:
        return ""
    kinds = " and ".join(_KINDS[kind] for kind in dict.fromkeys(each.kind for each in met))
    marks = "square mark" if len(met) == 1 else "square marks"
    return f"The seam {kinds} ({marks}): it cannot be cut so."

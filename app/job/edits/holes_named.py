"""Holes named by the numbers a scan's report gives them."""

from app.job.choices import JobState
from app.job.edits.tidy import with_fill, with_hole_filled
from app.job.making import Tidied
from app.job.steps import made


class NoSuchHoleError(Exception):
    """A hole was named by a number that none has.

    Attributes
    ----------
    number : int
    holes : int
        How many there are.
    """

    def __init__(self, number: int, holes: int) -> None:
        self.number, self.holes = number, holes
        super().__init__(f"no hole {number} among {holes}")


def with_only_holes_filled(state: JobState, numbers: tuple[int, ...]) -> JobState:
    """Return the job filling these holes of its tank, counted from 1, and leaving the others.

    The same job comes back where the tank is not yet told from the rest of its scan.

    Raises
    ------
    NoSuchHoleError
    """
    tidied: Tidied | None = made(state, "Tidy")
    size = made(state, "Size")
    if tidied is None or size is None:
        return state
    after = with_fill(state, "none")
    for number in numbers:
        if not 1 <= number <= len(tidied.holes):
            raise NoSuchHoleError(number, len(tidied.holes))
        on_rim = tidied.tidy.mesh.vertices[tidied.holes[number - 1].rim[0]] / size.mm_per_unit
        x, y, z = (float(value) for value in on_rim)
        after = with_hole_filled(after, (x, y, z))
    return after

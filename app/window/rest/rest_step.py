"""`RestStep`: how a step besides the panels is shown: its view, and what the tank shows at it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.job import JobState, made
from app.window.legend import Swatch
from app.window.scene import Body, Curve
from app.window.steps import Desk, RestView
from geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class RestPicture:
    """What the tank view shows of a step besides the tank, file coordinates.

    Attributes
    ----------
    bodies : tuple of Body
    curves : tuple of Curve
    legend : tuple of Swatch
    see_through : bool
        Whether the skin is drawn so that what is inside is seen.
    rows : tuple of (kind, number, (k, 3) float)
        Where on the tank a row of the step's lists is, to choose it by a click there.
    """

    bodies: tuple[Body, ...] = ()
    curves: tuple[Curve, ...] = ()
    legend: tuple[Swatch, ...] = ()
    see_through: bool = False
    rows: tuple[tuple[str, int, FloatArray], ...] = ()

    def row_at(self, place: FloatArray, reach: float) -> tuple[str, int]:
        """Return the row nearest a place, if one is no farther than `reach`; else ("", -1)."""
        found, nearest = ("", -1), reach
        for kind, number, points in self.rows:
            away = float(np.linalg.norm(points - place, axis=1).min()) if len(points) else np.inf
            if away <= nearest:
                found, nearest = (kind, number), away
        return found


@dataclass(frozen=True)
class RestStep:
    """One row of `REST_STEPS`.

    Attributes
    ----------
    name : str
        Of its row in the table of steps.
    view : class of RestView
        What stands on the right.
    picture : function of JobState, Desk
        Quick: what takes long belongs in the step.
    key : str
        Its key.
    """

    name: str
    view: type[RestView]
    picture: Callable[[JobState, Desk], RestPicture]
    key: str


def in_file(state: JobState, points: FloatArray) -> FloatArray:
    """Return places (k, 3) given in mm, in the file's own axes, in the file's own unit."""
    size = made(state, "Size")
    return points / float(size.mm_per_unit)

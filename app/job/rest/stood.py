"""The tank stood in its own axes, once for all steps besides the panels."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from app.job.choices import Directions
from app.job.making import Surface
from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.datum import Datum, point_array
from geometry.errors import GeometryError
from geometry.gauges import TankAxes, tank_axes
from geometry.mesh import TriMesh
from geometry.progress import Report
from geometry.surface import Opening, opening_within


class DirectionsUnknownError(GeometryError):
    """Nobody said which way the tank faces, and nothing shows it.

    Attributes
    ----------
    missing : tuple of str
        "front", "up".
    """

    def __init__(self, missing: tuple[str, ...]) -> None:
        self.missing = missing
        super().__init__(f"not known: {', '.join(missing)}")


@dataclass(frozen=True, eq=False)
class StoodTank:
    """The working surface in tank axes: x ahead, y left, z up, mm.

    Attributes
    ----------
    axes : TankAxes
        Of what the scan's own axes say, in mm.
    outside : TriMesh
        The face that was scanned, noise out, holes filled.
    middle : (n, 3) float
        The same vertices on the middle of the metal.
    filled, copied : (m,) bool
        Faces nobody scanned, and those made from the other side.
    openings : tuple of Opening
        On the outside.
    has_plane : bool
        Whether y = 0 is the centre plane of a datum.
    guessed : tuple of str
        "front", "up" where nobody said them: what hangs on them has to say so.
    length_mm : float or None
        From its rear end to its front end, by what the scan bears out; None where it is as long as
        its vertices reach.
    """

    axes: TankAxes
    outside: TriMesh
    middle: FloatArray
    filled: BoolArray
    copied: BoolArray
    openings: tuple[Opening, ...]
    has_plane: bool
    guessed: tuple[str, ...]
    length_mm: float | None = None

    def __post_init__(self) -> None:
        locked(self.middle)

    def check_directions(self) -> None:
        """Refuse where a guess stands for front or up, for steps that measure from them.

        Raises
        ------
        DirectionsUnknownError
        """
        if self.guessed:
            raise DirectionsUnknownError(self.guessed)


def stood_step(
    surface: Surface, datum: Datum | None, directions: Directions, *, report: Report
) -> StoodTank:
    """Return the tank in its own axes.

    Parameters
    ----------
    surface : Surface
    datum : Datum or None
    directions : Directions
        As said, where there is no datum.
    report : Report
    """
    report(0.0, "standing the tank up")
    working = surface.working
    outside = TriMesh(working.outside, working.mesh.faces)
    sure = working.borne_out()
    if datum is not None:
        axes = tank_axes(outside, datum.front, datum.up, datum.plane.point, among=sure)
        guessed: tuple[str, ...] = tuple(name for name in ("front", "up") if name in datum.guessed)
    else:
        ways = point_array(directions.front), point_array(directions.top)
        axes = tank_axes(outside, *ways, among=sure)
        said = {"front": directions.front, "up": directions.top}
        guessed = tuple(name for name, value in said.items() if value is None)
    rims = [_rim_on(working.mesh.vertices, each.outline) for each in working.openings]
    stands = axes.to_tank(working.outside)
    report(1.0, "stood up")
    return StoodTank(
        axes=axes,
        outside=TriMesh(stands, working.mesh.faces),
        middle=axes.to_tank(working.mesh.vertices),
        filled=working.filled,
        copied=working.copied,
        openings=tuple(opening_within(axes.to_tank(working.outside[rim])) for rim in rims),
        has_plane=datum is not None and not datum.plane.weak,
        guessed=guessed,
        length_mm=float(stands[sure, 0].max()),
    )


def _rim_on(vertices: FloatArray, outline: FloatArray) -> IntArray:
    """Return which vertices an opening's outline runs through."""
    return np.asarray(cKDTree(vertices).query(outline)[1])

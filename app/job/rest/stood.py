"""The tank stood in its own axes, once for all steps besides the panels."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from app.job.choices import Directions
from app.job.making import Surface
from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.datum import SEVERAL_PLANES, Datum, point_array
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
    loose : tuple of str
        What the shape does not hold of the centre plane front or up were taken from; empty where
        it is held, or both were said.
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
    loose: tuple[str, ...] = ()

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
        As said: they count where there is no datum, and where its centre plane is not held.
    report : Report
    """
    report(0.0, "standing the tank up")
    working = surface.working
    outside = TriMesh(working.outside, working.mesh.faces)
    sure = working.borne_out()
    has_plane = datum is not None and not datum.plane.weak
    ways, guessed = _ways(datum, directions)
    on_centre = datum.plane.point if datum is not None and has_plane else None
    axes = tank_axes(outside, *ways, on_centre, among=sure)
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
        has_plane=has_plane,
        guessed=guessed,
        length_mm=float(stands[sure, 0].max()),
        loose=_loose(datum, directions),
    )


def _ways(
    datum: Datum | None, said: Directions
) -> tuple[tuple[FloatArray | None, FloatArray | None], tuple[str, ...]]:
    """Return the ways to the front and up, and which of them nobody said.

    The datum's, which heard what was said; but where the shape does not hold its centre plane, what
    was said stands as it was said.
    """
    front, up = point_array(said.front), point_array(said.top)
    if datum is None:
        unsaid = tuple(name for name, way in (("front", front), ("up", up)) if way is None)
        return (front, up), unsaid
    guessed = tuple(name for name in ("front", "up") if name in datum.guessed)
    if not _loosely_held(datum):
        return (datum.front, datum.up), guessed
    return (datum.front if front is None else front, datum.up if up is None else up), guessed


def _loose(datum: Datum | None, said: Directions) -> tuple[str, ...]:
    if datum is None or None not in (said.front, said.top):
        return ()
    return _loosely_held(datum)


def _loosely_held(datum: Datum) -> tuple[str, ...]:
    """Return what the shape does not hold of a plane; one of several as good ones is held."""
    return tuple(words for words in datum.plane.weak if words != SEVERAL_PLANES)


def _rim_on(vertices: FloatArray, outline: FloatArray) -> IntArray:
    """Return which vertices an opening's outline runs through."""
    return np.asarray(cKDTree(vertices).query(outline)[1])

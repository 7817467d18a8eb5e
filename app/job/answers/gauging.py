"""The tape table of a job: its outside, axes, lines and round holes handed to the gauges."""

from scipy.spatial import cKDTree

from app.job.choices import JobState
from app.job.making import Lines, Surface, Tidied
from app.job.steps import directions_of, made
from geometry.arrays import BoolArray
from geometry.datum import Datum, point_array
from geometry.gauges import TankAxes, TapeTable, tank_axes, tape_table
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.surface import CharacterLine, Opening, WorkingSurface, character_lines, opening_within


def tape_table_of(
    state: JobState, *, with_copied: bool = False, report: Report = silent
) -> TapeTable | None:
    """Return the lengths to be taped on the original; None while its surface is not made.

    The tape lies on the outside as scanned, paint included, whatever the sheet is.

    Parameters
    ----------
    state : JobState
    with_copied : bool
        Whether tapes may lie on what was made from the other side.
    report : Report
    """
    surface: Surface | None = made(state, "Surface")
    if surface is None:
        return None
    working = surface.working
    outside = TriMesh(working.outside, working.mesh.faces)
    unsure = working.filled if with_copied else working.filled | working.copied
    return tape_table(
        outside,
        _axes(state, outside, working.borne_out()),
        unsure=unsure,
        lines=_lines(state, surface, part_of(report, 0.0, 0.4)),
        openings=_outer_openings(working),
        allowed=state.size.allowed,
        report=part_of(report, 0.4, 1.0),
    )


def _axes(state: JobState, outside: TriMesh, sure: BoolArray) -> TankAxes:
    datum: Datum | None = made(state, "Datum")
    if datum is not None:
        return tank_axes(outside, datum.front, datum.up, datum.plane.point, among=sure)
    directions = directions_of(state)
    ways = point_array(directions.front), point_array(directions.top)
    return tank_axes(outside, *ways, among=sure)


def _lines(state: JobState, surface: Surface, report: Report) -> tuple[CharacterLine, ...]:
    """Return the character lines of the scan; found here where the job did not ask for them."""
    lines: Lines | None = made(state, "Lines")
    if lines is not None:
        return lines.found
    tidied: Tidied | None = made(state, "Tidy")
    scan = surface.tidy.mesh if tidied is None else tidied.tidy.mesh
    return character_lines(scan, report=report)


def _outer_openings(working: WorkingSurface) -> tuple[Opening, ...]:
    """Return the openings on the outside; the surface's own lie on the middle of the metal."""
    tree = cKDTree(working.mesh.vertices)
    rims = [tree.query(opening.outline)[1] for opening in working.openings]
    return tuple(opening_within(working.outside[rim]) for rim in rims)

"""Work on lines the worker does: drawing one to its ridge, joining two, making one longer."""

import numpy as np

from geometry.datum import Point3
from geometry.mesh import TriMesh
from geometry.progress import Report, silent
from geometry.surface import CharacterLine, extended_line, joined_lines, line_along, snapped_line

Points = tuple[Point3, ...]


def snapped_points(
    mesh: TriMesh, mm_per_unit: float, points: Points, *, report: Report = silent
) -> Points:
    """Return a line drawn by hand, drawn to the ridge near it; file coordinates."""
    report(0.0, "Drawing the line to its ridge")
    return _in_file(snapped_line(mesh, np.array(points) * mm_per_unit), mm_per_unit)


def joined_points(
    mesh: TriMesh, mm_per_unit: float, one: Points, other: Points, *, report: Report = silent
) -> Points:
    """Return two lines as one, file coordinates."""
    report(0.0, "Joining two lines")
    first, second = (line_along(mesh, np.array(line) * mm_per_unit) for line in (one, other))
    return _in_file(joined_lines(mesh, first, second), mm_per_unit)


def longer_points(
    mesh: TriMesh, mm_per_unit: float, points: Points, towards: Point3, *, report: Report = silent
) -> Points:
    """Return a line made longer towards a place of the file."""
    report(0.0, "Making a line longer")
    line = line_along(mesh, np.array(points) * mm_per_unit)
    return _in_file(extended_line(mesh, line, np.array(towards) * mm_per_unit), mm_per_unit)


def _in_file(line: CharacterLine, mm_per_unit: float) -> Points:
    return tuple((float(x), float(y), float(z)) for x, y, z in line.points / mm_per_unit)

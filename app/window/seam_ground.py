"""The surface seams are drawn on, in file coordinates; what is worked out for it in the worker.

No Qt. The worker keeps the grounds it made, so that what is asked of a seam later finds its set-up.
"""

from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256

import numpy as np

from app.exports import TankModel, tank_stations
from app.job import Directions, Surface
from geometry.arrays import FloatArray
from geometry.datum import Datum, Point3
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, silent
from geometry.seams import SeamGround, SnapLine, plane_lines

STATION_STEP_MM = 50.0
"""From station to station ahead of the datum's origin."""

_MOST_GROUNDS = 2
_GROUNDS: OrderedDict[bytes, SeamGround] = OrderedDict()
_NO_LINE = np.empty((0, 3))


@dataclass(frozen=True, eq=False)
class Ground:
    """The surface seams are drawn on.

    Attributes
    ----------
    in_mm : SeamGround
    mm_per_unit : float
        What one unit of the file is.
    """

    in_mm: SeamGround
    mm_per_unit: float

    def quick(self, points: FloatArray, *, closed: bool = False) -> FloatArray:
        """Return a line through points for the eye, file coordinates; no rows where none runs."""
        try:
            line = self.in_mm.quick(points * self.mm_per_unit, closed=closed)
        except GeometryError:
            return _NO_LINE
        return np.asarray(line / self.mm_per_unit)

    def exact(self, points: FloatArray, *, closed: bool = False) -> FloatArray:
        """Return the exact line through points, file coordinates; no rows where none runs."""
        try:
            line = self.in_mm.exact(points * self.mm_per_unit, closed=closed).points
        except GeometryError:
            return _NO_LINE
        return np.asarray(line / self.mm_per_unit)

    def nearest(self, point: FloatArray) -> FloatArray:
        """Return the place of the surface nearest a point, file coordinates."""
        near = self.in_mm.nearest(np.reshape(point, (1, 3)) * self.mm_per_unit)
        return np.asarray(near.points[0] / self.mm_per_unit)


def outside_of(surface: Surface) -> TriMesh:
    """Return the skin seams are drawn on, mm."""
    return TriMesh(surface.working.outside, surface.working.mesh.faces)


def ground_of(surface: Surface, *, report: Report = silent) -> SeamGround:
    """Return the surface made ready to draw on, mm; the same surface again is answered at once."""
    mesh = outside_of(surface)
    key = sha256(mesh.vertices.tobytes() + mesh.faces.tobytes()).digest()
    if key not in _GROUNDS:
        _GROUNDS[key] = SeamGround(mesh, report=report)
    _GROUNDS.move_to_end(key)
    while len(_GROUNDS) > _MOST_GROUNDS:
        _GROUNDS.popitem(last=False)
    return _GROUNDS[key]


def standing_lines(
    surface: Surface, datum: Datum | None, directions: Directions, show: str,
    *, report: Report = silent,
) -> tuple[SnapLine, ...]:  # fmt: skip
    """Return what points catch on that no seam moves: rims, stations and the centre plane, mm."""
    mesh = outside_of(surface)
    report(0.0, "rims")
    found = [SnapLine("rim", "rim", mesh.vertices[np.append(loop, loop[0])]) for loop in rims(mesh)]
    planes = [*_datum_planes(mesh, datum), *_job_planes(mesh, directions, show)]
    for done, (kind, name, point, normal) in enumerate(planes):
        report((done + 1) / (len(planes) + 1), "stations")
        if kind == "centre plane":
            found += plane_lines(mesh, point, normal, kind="centre plane", name=name)
        else:
            found += plane_lines(mesh, point, normal, kind="station", name=name)
    report(1.0, "stations")
    return tuple(found)


Plane = tuple[str, str, FloatArray, FloatArray]


def _datum_planes(mesh: TriMesh, datum: Datum | None) -> list[Plane]:
    """Return the centre plane, and stations every 50 mm ahead of the datum's origin."""
    if datum is None:
        return []
    ahead = (mesh.vertices - datum.origin) @ datum.front
    numbers = range(
        int(np.floor(ahead.min() / STATION_STEP_MM)) + 1, int(ahead.max() // STATION_STEP_MM) + 1
    )
    planes: list[Plane] = [("centre plane", "centre plane", datum.plane.point, datum.plane.normal)]
    for at in (STATION_STEP_MM * number for number in numbers):
        planes.append(
            ("station", f"station {at:.0f}", datum.origin + at * datum.front, datum.front)
        )
    return planes


def _job_planes(mesh: TriMesh, directions: Directions, show: str) -> list[Plane]:
    """Return the stations the job's paper shows, but the one in the centre plane."""
    front, up = directions.front, directions.top
    tank = TankModel(
        mesh.vertices, mesh.faces, np.zeros(len(mesh.faces), np.int64), ("",), _way(front), _way(up)
    )
    stations = tank_stations(tank, "in" if show == "in" else "mm").along
    return [
        ("station", f"station {station.name}", station.point, station.normal)
        for axis in stations for station in axis if station.name != "M"
    ]  # fmt: skip


def _way(direction: Point3 | None) -> FloatArray | None:
    return None if direction is None else np.array(direction)

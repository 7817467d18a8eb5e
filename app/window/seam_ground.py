"""The surface seams are drawn on, in file coordinates; what is worked out for it in the worker.

No Qt. The worker keeps the grounds it made, so that what is asked of a seam later finds its set-up.
"""

from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256

import numpy as np

from app.exports import TankModel, tank_stations
from app.job import Directions, Surface
from app.window.seam_on_scan import ExactLine, ScanUnder
from geometry.arrays import FloatArray
from geometry.datum import Datum, Point3
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, silent
from geometry.seams import SeamGround, SnapLine, plane_lines

STATION_STEP_MM = 50.0
"""From station to station ahead of the datum's origin."""

SHORT_MM = 100.0
"""A leg with its ends no farther apart is drawn exactly at once: that takes about 10 ms."""

_MOST_GROUNDS = 2
_GROUNDS: OrderedDict[bytes, SeamGround] = OrderedDict()
_NO_LINE = np.empty((0, 3))


@dataclass(frozen=True, eq=False)
class Ground:
    """The surface seams are drawn on.

    Attributes
    ----------
    in_mm : SeamGround
        The surface that is cut: a coarsened copy of the scan, its noise taken out.
    mm_per_unit : float
        What one unit of the file is.
    scan : ScanUnder or None
        The scan itself, for exact lines; without it they lie on the surface that is cut.
    """

    in_mm: SeamGround
    mm_per_unit: float
    scan: ScanUnder | None = None

    def quick(self, points: FloatArray, *, closed: bool = False) -> FloatArray:
        """Return a line through points for the eye, file coordinates; no rows where none runs.

        Short legs are the very ones that are cut; longer ones run over a coarser copy.
        """
        stops = np.concatenate([points, points[:1]]) if closed else np.asarray(points)
        stops = stops * self.mm_per_unit
        long = np.linalg.norm(np.diff(stops, axis=0), axis=1) > SHORT_MM
        legs: list[FloatArray] = []
        try:
            for at, is_long in enumerate(long.tolist()):
                leg = stops[at : at + 2]
                if (leg[0] == leg[1]).all() and len(long) > 1:
                    continue
                line = self.in_mm.quick(leg) if is_long else self.in_mm.exact(leg).points
                legs.append(line[1:] if legs else line)
        except GeometryError:
            return _NO_LINE
        return np.concatenate(legs) / self.mm_per_unit if legs else _NO_LINE

    def exact(self, points: FloatArray, *, closed: bool = False) -> ExactLine:
        """Return the exact line through points, file coordinates; no rows where none runs."""
        try:
            path = self.in_mm.exact(points * self.mm_per_unit, closed=closed)
        except GeometryError:
            return ExactLine(_NO_LINE)
        line = ExactLine(path.points) if self.scan is None else self.scan.under(path)
        return ExactLine(np.asarray(line.points / self.mm_per_unit), line.beside_mm)

    def nearest(self, point: FloatArray) -> FloatArray:
        """Return the place of the surface nearest a point, file coordinates."""
        near = self.in_mm.nearest(np.reshape(point, (1, 3)) * self.mm_per_unit)
        return np.asarray(near.points[0] / self.mm_per_unit)


def outside_of(surface: Surface) -> TriMesh:
    """Return the skin seams are drawn on, mm."""
    return TriMesh(surface.working.outside, surface.working.mesh.faces)


def scan_under(surface: Surface) -> ScanUnder:
    """Return the scan under the surface seams are drawn on."""
    working = surface.working
    return ScanUnder(surface.tidy.mesh, working.filled | working.copied)


def ground_of(skin: TriMesh, *, report: Report = silent) -> SeamGround:
    """Return the skin made ready to draw on, mm; the same skin again is answered at once."""
    key = sha256(skin.vertices.tobytes() + skin.faces.tobytes()).digest()
    if key not in _GROUNDS:
        _GROUNDS[key] = SeamGround(skin, report=report)
    _GROUNDS.move_to_end(key)
    while len(_GROUNDS) > _MOST_GROUNDS:
        _GROUNDS.popitem(last=False)
    return _GROUNDS[key]


def standing_lines(
    skin: TriMesh, datum: Datum | None, directions: Directions, show: str,
    *, report: Report = silent,
) -> tuple[SnapLine, ...]:  # fmt: skip
    """Return what points catch on that no seam moves: rims, stations and the centre plane, mm."""
    report(0.0, "rims")
    found = [SnapLine("rim", "rim", skin.vertices[np.append(loop, loop[0])]) for loop in rims(skin)]
    planes = [*_datum_planes(skin, datum), *_job_planes(skin, directions, show)]
    for done, (kind, name, point, normal) in enumerate(planes):
        report((done + 1) / (len(planes) + 1), "stations")
        if kind == "centre plane":
            found += plane_lines(skin, point, normal, kind="centre plane", name=name)
        else:
            found += plane_lines(skin, point, normal, kind="station", name=name)
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

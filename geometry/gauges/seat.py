"""The seat face: its plane, how flat it is, where it ends, and the line the seat follows.

All in tank axes. Once held, plane and edge are numbers of their own; what the skin does meanwhile
is measured against them, never the other way round.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.gauges.seat_corner import corner_line
from geometry.mesh import TriMesh, face_middles, section
from geometry.polyline import line_length
from geometry.progress import Report, silent
from geometry.surface import FlatFace, flat_faces

_FACES_REAR = 0.5
_REACH_MM = 40.0
_SHORTEST_LINE_MM = 30.0
_WALL_MM = 10.0


class NoSeatFaceError(GeometryError):
    """The skin has no flat face where the seat goes.

    Attributes
    ----------
    reason : "none", "none behind" or "none near"
        No flat face at all; none that faces the rear; none within reach of the place named.
    found : int
        Flat faces there are elsewhere.
    distance_mm : float
        To the nearest of them, where a place was named.
    """

    def __init__(
        self,
        reason: Literal["none", "none behind", "none near"],
        found: int,
        distance_mm: float = 0.0,
    ) -> None:
        self.reason, self.found, self.distance_mm = reason, found, distance_mm
        super().__init__(f"no seat face: {reason}, {found} flat faces")


class NoSeatLineError(GeometryError):
    """The skin has no line at a distance ahead of the seat face.

    Attributes
    ----------
    ahead_mm : float
    """

    def __init__(self, ahead_mm: float) -> None:
        self.ahead_mm = ahead_mm
        super().__init__(f"no line {ahead_mm} mm ahead of the seat face")


@dataclass(frozen=True, eq=False)
class SeatPlane:
    """Plane and edge of a seat face: all a template needs.

    Attributes
    ----------
    point, normal : (3,) float
        The normal points out of the tank.
    edge : (k, 3) float, mm
        Where the flat ends, on the plane; the first point is repeated last.
    corner : (k, 3) float, mm
        Where face and wall would meet if the edge was not rounded, point by point beside `edge`;
        the edge itself where there is no wall, as at the tank's foot.
    """

    point: FloatArray
    normal: FloatArray
    edge: FloatArray
    corner: FloatArray

    def __post_init__(self) -> None:
        for array in (self.point, self.normal, self.edge, self.corner):
            locked(array)

    @property
    def ways(self) -> FloatArray:
        """(2, 3) float: to the right and up on the face, as seen from behind, from outside."""
        upward = np.array([0.0, 0.0, 1.0])
        if abs(self.normal[2]) > 0.999:  # a face that lies level: what is ahead is up on it
            upward = np.array([1.0, 0.0, 0.0])
        up = upward - (upward @ self.normal) * self.normal
        up /= np.linalg.norm(up)
        return np.stack([np.cross(up, self.normal), up])

    @property
    def origin(self) -> FloatArray:
        """(3,) float: of places on the face: on the tank's centre, as high as `point`."""
        right = self.ways[0]
        shift = self.point[1] / right[1] if abs(right[1]) > 0.1 else 0.0
        return np.asarray(self.point - shift * right)

    @property
    def lean_rad(self) -> float:
        """How far the face leans from upright; above 0 its top leans ahead, facing the sky."""
        return float(np.arcsin(np.clip(self.normal[2], -1.0, 1.0)))

    def flat(self, points: FloatArray) -> FloatArray:
        """Return places (k, 3) as (k, 2): right and up on the face, seen from behind."""
        return np.asarray((points - self.origin) @ self.ways.T)

    def in_space(self, flat: FloatArray) -> FloatArray:
        """Return places (k, 2) of the face in tank axes."""
        return np.asarray(self.origin + flat @ self.ways)

    def out(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) places stand out of the plane, mm."""
        return np.asarray((points - self.point) @ self.normal)


@dataclass(frozen=True, eq=False)
class SeatFace:
    """A seat face, held or found, and how the skin lies to it.

    Attributes
    ----------
    plane : SeatPlane
    area_mm2 : float
        Within the edge found on the skin.
    flatness_mm : float
        Of the skin, noise off, from its lowest to its highest hundredth.
    middles : (j, 3) float, mm
        Places of the skin within its edge.
    off_mm : (j,) float
        How far the skin stands out of `plane` there, noise off; below nothing where it lies in.
    skin : TriMesh
        The skin there: its face j is where `off_mm` j holds.
    """

    plane: SeatPlane
    area_mm2: float
    flatness_mm: float
    middles: FloatArray
    off_mm: FloatArray
    skin: TriMesh

    def __post_init__(self) -> None:
        locked(self.middles)
        locked(self.off_mm)


@dataclass(frozen=True)
class SeatMoved:
    """What a skin's seat face does against the one held.

    Attributes
    ----------
    out_mm : float
        How far the middle of the face now stands out of the plane held.
    tilt_rad : float
        Between the planes.
    edge_mm : float
        The farthest the corner lines are apart.
    """

    out_mm: float
    tilt_rad: float
    edge_mm: float


def seat_face(
    skin: TriMesh,
    *,
    near: FloatArray | None = None,
    flats: tuple[FlatFace, ...] | None = None,
    report: Report = silent,
) -> SeatFace:
    """Return the seat face of a skin: the largest flat that faces the rear, or one at a place.

    Parameters
    ----------
    skin : TriMesh
        As scanned, in tank axes: cleaning would round its edge.
    near : (3,) float, optional
        A place on it or beside it, 40 mm off at most.
    flats : tuple of FlatFace, optional
        The skin's flat faces, in tank axes; looked for if not given.

    Raises
    ------
    NoSeatFaceError
    """
    flats = flat_faces(skin, report=report) if flats is None else flats
    flat = _rearmost(flats) if near is None else _nearest(flats, near)
    return _measured(skin, flat, _plane_of(skin, flat))


def seat_against(
    skin: TriMesh,
    held: SeatPlane,
    *,
    flats: tuple[FlatFace, ...] | None = None,
    report: Report = silent,
) -> tuple[SeatFace, SeatMoved]:
    """Return the skin's seat face measured against one that is held, and what moved.

    Parameters
    ----------
    skin : TriMesh
        As scanned, in tank axes.
    held : SeatPlane
    flats : tuple of FlatFace, optional
        The skin's flat faces, in tank axes; looked for if not given.

    Raises
    ------
    NoSeatFaceError
        The skin has no flat face near the one held any more.
    """
    flats = flat_faces(skin, report=report) if flats is None else flats
    flat = _nearest(flats, held.edge[:-1].mean(axis=0))
    face = _measured(skin, flat, held)
    middle = flat.edge[:-1].mean(axis=0)
    now, then = (held.flat(each) for each in (_plane_of(skin, flat).corner, held.corner))
    apart = shapely.hausdorff_distance(shapely.LineString(now), shapely.LineString(then), 0.05)
    tilt = float(np.arccos(np.clip(flat.normal @ held.normal, -1.0, 1.0)))
    plane_out = held.out((middle - (middle - flat.point) @ flat.normal * flat.normal)[None])[0]
    return face, SeatMoved(float(plane_out), tilt, float(apart))


def seat_line(skin: TriMesh, plane: SeatPlane, ahead_mm: float) -> FloatArray:
    """Return the line (k, 2) the skin has in a plane level with the face, a distance ahead of it.

    From its right low end over the top to its left low end, as seen from behind; where the tank is
    closed below, all of it, its first point not repeated.

    Raises
    ------
    NoSeatLineError
    """
    lines = section(skin, plane.point - ahead_mm * plane.normal, plane.normal)
    if not lines or line_length(lines[0]) < _SHORTEST_LINE_MM:
        raise NoSeatLineError(ahead_mm)
    line = plane.flat(lines[0])
    if np.allclose(line[0], line[-1]):
        line = np.roll(line[:-1], -int(line[:-1, 1].argmin()), axis=0)
    return np.asarray(line if line[0, 0] > line[-1, 0] else line[::-1])


def template_over(line: FloatArray, deep_mm: float) -> FloatArray:
    """Return the outline (j, 2) of a template that goes over a line, `deep_mm` deep all along it.

    Its first points are the line itself; it ends level with the line's ends.
    """
    tank = shapely.Polygon(line).buffer(0)
    around = tank.buffer(deep_mm, quad_segs=32).exterior
    low = float(max(line[0, 1], line[-1, 1]))
    wide = 2.0 * deep_mm + float(np.ptp(line[:, 0]))
    middle = float(line[:, 0].mean())
    sky = shapely.box(middle - wide, low, middle + wide, low + 1e4)
    runs = shapely.line_merge(around.intersection(sky))
    parts = list(getattr(runs, "geoms", [runs]))
    outer = np.array(max(parts, key=lambda part: part.length).coords)[:, :2]
    if np.linalg.norm(outer[0] - line[-1]) > np.linalg.norm(outer[-1] - line[-1]):
        outer = outer[::-1]
    return np.concatenate([line, outer])


def _rearmost(flats: tuple[FlatFace, ...]) -> FlatFace:
    if not flats:
        raise NoSeatFaceError("none", 0)
    behind = [flat for flat in flats if flat.normal[0] < -_FACES_REAR]
    if not behind:
        raise NoSeatFaceError("none behind", len(flats))
    return behind[0]


def _nearest(flats: tuple[FlatFace, ...], place: FloatArray) -> FlatFace:
    if not flats:
        raise NoSeatFaceError("none", 0)
    away = [_off_face(flat, place) for flat in flats]
    best = int(np.argmin(away))
    if away[best] > _REACH_MM:
        raise NoSeatFaceError("none near", len(flats), float(away[best]))
    return flats[best]


def _off_face(flat: FlatFace, place: FloatArray) -> float:
    """Return how far a place is from a flat face, within its edge or beside it."""
    plane = SeatPlane(flat.point, flat.normal, flat.edge, flat.edge)
    inside = shapely.Polygon(plane.flat(flat.edge)).buffer(0)
    beside = inside.distance(shapely.Point(plane.flat(place[None])[0]))
    return float(np.hypot(beside, plane.out(place[None])[0]))


def _plane_of(skin: TriMesh, flat: FlatFace) -> SeatPlane:
    """Return the plane of a flat face with both its outlines."""
    rough = SeatPlane(flat.point, flat.normal, flat.edge, flat.edge)
    depth = -rough.out(skin.vertices)
    near = np.flatnonzero((depth > 0.0) & (depth < _WALL_MM))
    line = rough.flat(flat.edge[:-1])
    x, y = line.T
    turns_left = (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() > 0.0
    line = line if turns_left else line[::-1]
    met = corner_line(line, rough.flat(skin.vertices[near]), depth[near])
    corner = rough.in_space(np.concatenate([met, met[:1]]))
    edge = rough.in_space(np.concatenate([line, line[:1]]))
    return SeatPlane(flat.point.copy(), flat.normal.copy(), edge, corner)


def _measured(skin: TriMesh, flat: FlatFace, plane: SeatPlane) -> SeatFace:
    """Return a flat face with its heights over a plane, its own or another."""
    faces = skin.faces[flat.faces]
    middles = face_middles(skin.vertices, faces)
    level = middles - ((middles - flat.point) @ flat.normal)[:, None] * flat.normal
    off = plane.out(level + flat.off[:, None] * flat.normal)
    used, index = np.unique(faces, return_inverse=True)
    part = TriMesh(skin.vertices[used], index.reshape(-1, 3))
    return SeatFace(plane, flat.area, flat.flatness_mm, middles, off, part)

"""The datum from what the maker decided, and from the scan where they left it open."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, locked
from geometry.datum.centre_plane import CentrePlane
from geometry.datum.centre_plane_picks import Pair, plane_from_picks
from geometry.datum.level import NoLevelError, level_from_edge, level_from_picks
from geometry.datum.stand import SQUARE_RAD, Datum, DirectionAcrossError, direction_in_plane
from geometry.datum.symmetry import centre_plane
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, face_areas, face_middles
from geometry.progress import Report, part_of, silent

Direction = FloatArray | Sequence[float]

FARTHEST_PICK_MM = 50.0
"""From the nearest place scanned: half a filler's width, and something over."""


def datum_of(
    mesh: TriMesh,
    *,
    how: Literal["auto", "picks", "given"] = "auto",
    on_centre: Sequence[FloatArray] | FloatArray = (),
    pairs: Sequence[Pair] | FloatArray = (),
    plane: CentrePlane | tuple[Direction, Direction] | None = None,
    level: Literal["auto", "picks", "given"] = "auto",
    level_picks: Sequence[FloatArray] | FloatArray = (),
    up: Direction | None = None,
    front: Direction | None = None,
    report: Report = silent,
) -> Datum:
    """Return where the tank stands.

    Parameters
    ----------
    mesh : TriMesh, mm
    how : "auto", "picks" or "given"
        The centre plane from the scan, from `on_centre` and `pairs`, or as `plane`.
    plane : CentrePlane, or a point and a normal
    level : "auto", "picks" or "given"
        The tilt from the flat bottom edge or underside (`up`, where said, tells roughly where;
        where neither is found it is taken as said), from `level_picks`, or as `up` says.
    up, front : (3,) float, optional
        Of any length. Without them they are guessed and named in `Datum.guessed`: the bottom is
        below, and the wider end in front.

    Raises
    ------
    NoSymmetryError, PicksDoNotFixPlaneError, LevelPicksError, DirectionAcrossError,
    PickOffTankError
    """
    report(0.0, "Looking for the centre plane")
    _check_near(mesh, [*_places(on_centre), *_places(pairs), *_places(level_picks)])
    share = part_of(report, 0.0, 0.8)
    if how == "picks":
        centre = plane_from_picks(on_centre, pairs)
    elif how == "given":
        centre = _given(plane)
    else:
        centre = centre_plane(mesh, report=share)
    said = None if up is None else direction_in_plane("up", np.asarray(up, float), centre.normal)
    guessed = [] if up is not None else ["up"]
    spread: float | None = None
    share = part_of(report, 0.8, 0.95)
    if level == "given":
        if said is None:
            raise ValueError("a level that is given needs `up`")
        upward = said
    elif level == "picks":
        rough = said if said is not None else _up_of_scan(mesh, centre, share)[0]
        found = level_from_picks(centre, level_picks, up=rough)
        upward, spread = found.up, found.spread_rad
    else:
        upward, spread, is_guess = _level_of_scan(mesh, centre, said, share)
        guessed += ["level"] if is_guess else []
    report(0.95, "Standing the tank up")
    onward = _front(mesh, centre, upward, front)
    guessed += ["front"] if front is None else []
    datum = Datum(
        plane=replace(centre, normal=np.cross(upward, onward)),
        up=upward,
        front=onward,
        origin=_below_the_rear(mesh, centre, upward, onward),
        guessed=tuple(guessed),
        level_spread_rad=spread,
    )
    report(1.0, "Standing the tank up")
    return datum


class PickOffTankError(GeometryError):
    """A picked place lies far off all that was scanned.

    Attributes
    ----------
    point : (3,) float, mm
    distance_mm : float
    """

    def __init__(self, point: FloatArray, distance_mm: float) -> None:
        self.point, self.distance_mm = locked(np.array(point, np.float64)), distance_mm
        super().__init__(f"a pick at {self.point} lies {distance_mm:.1f} mm off the scan")


def _places(picks: Sequence[Pair] | Sequence[FloatArray] | FloatArray) -> list[FloatArray]:
    return list(np.asarray(picks, np.float64).reshape(-1, 3))


def _check_near(mesh: TriMesh, places: list[FloatArray]) -> None:
    """Refuse picks that are no places of the tank; over a filler hole they may hang in the air."""
    if not places:
        return
    distance = np.asarray(cKDTree(mesh.vertices).query(np.array(places))[0])
    worst = int(np.argmax(distance))
    if distance[worst] > FARTHEST_PICK_MM:
        raise PickOffTankError(places[worst], float(distance[worst]))


def _given(plane: CentrePlane | tuple[Direction, Direction] | None) -> CentrePlane:
    if plane is None:
        raise ValueError("a centre plane that is given needs `plane`")
    if isinstance(plane, CentrePlane):
        return plane
    point, normal = (np.asarray(part, np.float64) for part in plane)
    return CentrePlane(point, normal, 0.0, 0.0)


def _level_of_scan(
    mesh: TriMesh, plane: CentrePlane, said: FloatArray | None, report: Report
) -> tuple[FloatArray, float | None, bool]:
    """Return up, how sure its tilt is, and whether the tilt is a guess."""
    if said is None:
        return _up_of_scan(mesh, plane, report)
    try:
        level = level_from_edge(mesh, plane, up=said, report=report)
    except NoLevelError:
        return said, None, False
    return level.up, level.spread_rad, False


def _up_of_scan(
    mesh: TriMesh, plane: CentrePlane, report: Report
) -> tuple[FloatArray, float | None, bool]:
    """Return up from the bottom edge; else, a guess, the tank lies along its length, open below."""
    try:
        level = level_from_edge(mesh, plane, report=report)
    except NoLevelError:
        view = np.linalg.svd(plane.normal[None])[2][1:]
        flat = mesh.vertices @ view.T
        thin = np.linalg.eigh(np.cov(flat.T))[1][:, 0] @ view
        corners = mesh.vertices[mesh.faces]
        faces_up = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).sum(
            axis=0
        )
        sign = np.sign(faces_up @ thin) or 1.0
        return thin * sign, None, True
    return level.up, level.spread_rad, False


def _front(mesh: TriMesh, plane: CentrePlane, up: FloatArray, said: Direction | None) -> FloatArray:
    """Return the unit direction to the front, square to up, in the plane."""
    line = np.cross(plane.normal, up)
    if said is not None:
        laid = direction_in_plane("front", np.asarray(said, np.float64), plane.normal)
        lean = float(np.arcsin(min(abs(float(laid @ up)), 1.0)))
        if lean > SQUARE_RAD:
            raise DirectionAcrossError("front", lean)
        return np.asarray(line * np.sign(laid @ line))
    middles = face_middles(mesh.vertices, mesh.faces)
    along = mesh.vertices @ line
    halfway = 0.5 * (along.min() + along.max())
    wide = face_areas(mesh.vertices, mesh.faces) * np.abs(plane.off(middles))
    return np.asarray(line * (np.sign(wide @ (middles @ line - halfway)) or 1.0))


def _below_the_rear(
    mesh: TriMesh, plane: CentrePlane, up: FloatArray, front: FloatArray
) -> FloatArray:
    """Return the place on the plane as far back and as low as anything of the tank."""
    back = float((mesh.vertices @ front).min() - plane.point @ front)
    low = float((mesh.vertices @ up).min() - plane.point @ up)
    return np.asarray(plane.point + back * front + low * up)

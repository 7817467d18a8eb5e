"""Sweeps: how a formed panel curves along station lines, as a sweep held in the station reads it.

A station is a plane. What it cuts out of the panel is one line, or several between folds and
crisp lines; of each line the arc is told that lies nearest to it, and, where no one arc lies near
enough, the tightest and the flattest arc along it, crown and hollow each by itself.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import FloatArray, locked
from geometry.mesh import TriMesh, section
from geometry.pattern.pattern import carried_points
from geometry.pattern.sources import FlatSheet
from geometry.polyline import in_pieces, line_length

ONE_ARC_MM = 0.5
"""A line that leaves its best arc by no more is that arc: the usual gap under a template."""

FLATTEST_MM = 3000.0
"""A longer radius is told as flat: over 150 mm it rises less than a millimetre."""

SHORTEST_MM = 15.0
"""Shorter pieces of a station tell nothing."""

_WINDOW_MM = 50.0
_WINDOWS = 16
_STEP_MM = 2.0
_APART_MM = 1.0


@dataclass(frozen=True, eq=False)
class Station:
    """A plane across the tank.

    Attributes
    ----------
    name : str
    point, normal : (3,) float, mm
    """

    name: str
    point: FloatArray
    normal: FloatArray


@dataclass(frozen=True, eq=False)
class Sweep:
    """One piece of a station line and the arcs that lie along it.

    Attributes
    ----------
    station : str
    points : (k, 2) float, mm
        On the blank, seen from outside.
    formed : (k, 3) float, mm
        The same places on the formed panel.
    curvature : float, 1/mm
        Of the best arc; above 0 crowned (bulging to the outside), below 0 hollow.
    least, most : float, 1/mm
        The least and the greatest curvature along it, signed; both `curvature` where one arc
        lies near enough all along.
    off_mm : float
        How far the line leaves its best arc at most.
    """

    station: str
    points: FloatArray
    formed: FloatArray
    curvature: float
    least: float
    most: float
    off_mm: float

    @property
    def is_one_arc(self) -> bool:
        """Whether one sweep fits all along."""
        return self.off_mm <= ONE_ARC_MM


def stations_across(
    axis: FloatArray, start: FloatArray, spacing_mm: float, count: int, prefix: str
) -> tuple[Station, ...]:
    """Return planes square to an axis, the first one spacing from a start, numbered from 1.

    >>> [each.name for each in stations_across(np.eye(3)[0], np.zeros(3), 75.0, 2, "S")]
    ['S1', 'S2']
    """
    way = np.asarray(axis) / np.linalg.norm(axis)
    return tuple(
        Station(f"{prefix}{number}", locked(start + spacing_mm * number * way), locked(way.copy()))
        for number in range(1, count + 1)
    )


def sweeps(
    flat: FlatSheet, stations: Sequence[Station], *, parted_by: Sequence[FloatArray] = ()
) -> tuple[Sweep, ...]:
    """Return the pieces of every station line on a panel.

    Parameters
    ----------
    flat : FlatSheet
    stations : sequence of Station
        Planes where the formed panel stands.
    parted_by : sequence of (k, 2) float, mm
        Lines on the blank at which a station line ends and another begins: folds, crisp lines.
    """
    panel = TriMesh(flat.vertices, flat.faces)
    cuts = [
        (station, _even(line))
        for station in stations
        for line in section(panel, station.point, station.normal)
        if line_length(line) >= SHORTEST_MM
    ]
    if not cuts:
        return ()
    on_blank = carried_points(flat, np.concatenate([line for _, line in cuts]))
    ends = np.cumsum([len(line) for _, line in cuts])[:-1]
    barrier = shapely.union_all([shapely.LineString(line) for line in parted_by])
    outward = _outward(flat)
    found: list[Sweep] = []
    for (station, line), places in zip(cuts, np.split(on_blank, ends), strict=True):
        for low, high in _pieces(places, barrier):
            if line_length(line[low:high]) >= SHORTEST_MM:
                found += _told(station, line[low:high], places[low:high], outward)
    return tuple(found)


def _even(line: FloatArray) -> FloatArray:
    """Return points evenly spaced along a line, ends kept."""
    return in_pieces(line, max(int(line_length(line) / _STEP_MM), 8))


def _pieces(places: FloatArray, barrier: shapely.Geometry) -> list[tuple[int, int]]:
    """Return the runs of points between the barriers, the steps beside one left out."""
    if shapely.is_empty(barrier):
        return [(0, len(places))]
    steps = shapely.linestrings(np.stack([places[:-1], places[1:]], axis=1))
    parted = np.flatnonzero(shapely.dwithin(steps, barrier, _APART_MM))
    bounds = [0, *(parted + 1).tolist(), len(places)]
    return [(low, high) for low, high in itertools.pairwise(bounds) if high - low >= 4]


def _outward(flat: FlatSheet) -> FloatArray:
    """Return the (m, 6) middles and outward normals of the panel's faces."""
    corners = flat.vertices[flat.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.concatenate([corners.mean(axis=1), normals], axis=1)


def _told(
    station: Station, line: FloatArray, places: FloatArray, outward: FloatArray
) -> list[Sweep]:
    """Return a piece of a station line with its arcs: in parts where crown goes over to hollow."""
    x, y = _in_plane(station.normal, line)
    flat_line = np.stack([line @ x, line @ y], axis=1)
    out = _out_of_line(line, flat_line, np.stack([x, y]), outward)
    parts = [(0, len(line))]
    if best_arc(flat_line, out)[1] > ONE_ARC_MM:
        bounds = [0, *_inflections(flat_line, out), len(line) - 1]
        parts = [(low, high + 1) for low, high in itertools.pairwise(bounds)]
    found = []
    for low, high in parts:
        curvature, off = best_arc(flat_line[low:high], out)
        least = most = curvature
        if off > ONE_ARC_MM:
            _, local = _local_curvatures(flat_line[low:high], out)
            least, most = float(local.min()), float(local.max())
        formed, flat = locked(line[low:high].copy()), locked(places[low:high].copy())
        found.append(Sweep(station.name, flat, formed, curvature, least, most, off))
    return found


def _inflections(line: FloatArray, out: float) -> list[int]:
    """Return the points at which a line's bend goes over to the other side, none near its ends."""
    at, local = _local_curvatures(line, out)
    bent = np.flatnonzero(np.abs(local) * FLATTEST_MM >= 1.0)
    found: list[int] = []
    for before, after in itertools.pairwise(bent.tolist()):
        middle = int((at[before] + at[after]) // 2)
        ends = (found[-1] if found else 0, len(line) - 1)
        if local[before] * local[after] < 0.0 and all(
            line_length(line[min(middle, end) : max(middle, end) + 1]) >= SHORTEST_MM
            for end in ends
        ):
            found.append(middle)
    return found


def _in_plane(normal: FloatArray, line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two unit directions within a plane."""
    x = line[-1] - line[0]
    x = x - (x @ normal) * normal
    if np.linalg.norm(x) < 1e-9:
        x = line[len(line) // 2] - line[0]
        x = x - (x @ normal) * normal
    x /= np.linalg.norm(x)
    return x, np.asarray(np.cross(normal, x))


def _out_of_line(
    line: FloatArray, flat_line: FloatArray, axes: FloatArray, outward: FloatArray
) -> float:
    """Return 1 where the panel's outside lies to the left of the line, -1 to its right."""
    middle = line[len(line) // 2]
    near = int(np.argmin(((outward[:, :3] - middle) ** 2).sum(axis=1)))
    way = axes @ outward[near, 3:]
    half = len(flat_line) // 2
    along = flat_line[min(half + 2, len(flat_line) - 1)] - flat_line[max(half - 2, 0)]
    return 1.0 if along[0] * way[1] - along[1] * way[0] > 0.0 else -1.0


def best_arc(line: FloatArray, out: float = 1.0) -> tuple[float, float]:
    """Return the signed curvature of the arc nearest to points in a plane, and the farthest off.

    Least squares of the algebraic distance that is the true one to second order, so that a
    straight line is an arc like any other. Source: [pratt1987].

    Parameters
    ----------
    line : (k, 2) float, mm
        In order.
    out : float
        1 where the outside lies to the left of the line, -1 to its right.

    >>> turn = np.linspace(0.0, 1.0, 30)
    >>> curvature, off = best_arc(145.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1), -1.0)
    >>> round(1.0 / curvature, 6), off < 1e-9
    (145.0, True)
    """
    centre = line.mean(axis=0)
    away = line - centre
    size = float(np.sqrt((away**2).sum(axis=1).mean()))
    away = away / size
    square = (away**2).sum(axis=1)
    rows = np.column_stack([square, away, np.ones(len(away))])
    weight = np.array([[0.0, 0, 0, -2], [0, 1, 0, 0], [0, 0, 1, 0], [-2, 0, 0, 0]])
    values, vectors = np.linalg.eig(np.linalg.solve(weight, rows.T @ rows / len(rows)))
    values, vectors = values.real, vectors.real
    norms = np.einsum("ik,ij,jk->k", vectors, weight, vectors)
    good = np.flatnonzero(norms > 1e-12)
    best = good[np.argmin(np.abs(values[good]))]
    a, b, c, d = vectors[:, best] / np.sqrt(norms[best])
    algebraic = rows @ np.array([a, b, c, d])
    # Exact distance to the circle a (x2 + y2) + b x + c y + d = 0 with b2 + c2 - 4 a d = 1.
    off = 2.0 * algebraic / (1.0 + np.sqrt(np.maximum(1.0 + 4.0 * a * algebraic, 0.0)))
    gradient = 2.0 * a * away + np.array([b, c])  # away from the centre where a is above 0
    step = np.gradient(away, axis=0)
    left = float((step[:, 0] * gradient[:, 1] - step[:, 1] * gradient[:, 0]).sum())
    side = 1.0 if left > 0.0 else -1.0
    return float(2.0 * a * side * out / size), float(np.abs(off).max() * size)


def _local_curvatures(line: FloatArray, out: float) -> tuple[FloatArray, FloatArray]:
    """Return the middles (j,), as points of a line, of short pieces, and their best arcs' bend."""
    length = line_length(line)
    window = min(_WINDOW_MM, length / 2.0)
    count = min(max(round(window / (length / (len(line) - 1))), 4), len(line) - 1)
    starts = np.unique(np.linspace(0, len(line) - 1 - count, _WINDOWS).astype(int))
    bend = [best_arc(line[start : start + count + 1], out)[0] for start in starts.tolist()]
    return starts + count / 2.0, np.array(bend)

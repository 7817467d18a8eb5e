"""How the tank is tilted: up from its flat bottom edge, its flat underside, or from picks.

Up always lies in the centre plane, so a level is one tilt, read in the view from the side.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.datum.centre_plane import CentrePlane
from geometry.datum.centre_plane_picks import PICK_ERROR_MM, UNFIXED_RAD
from geometry.datum.stand import direction_in_plane
from geometry.datum.symmetry_patches import patches_of
from geometry.errors import GeometryError
from geometry.mesh import TriMesh, edge_lengths
from geometry.progress import Report, silent

BAND = 0.03
"""A bottom may wave by this share of the tank's length and still be one to level by."""

ALIKE_OVER_MM = 40.0
"""Places of an edge nearer to each other than this wave together. Common practice, no source."""

LEAST_COVERED = 0.5
"""The edge runs below at least this share of the tank's length."""

LEAST_FACE = 0.04
"""A flat underside has at least this share of the area."""

_NEAR_SAID_RAD = np.deg2rad(50.0)
_FACING_DOWN = np.cos(np.deg2rad(12.0))
_ANGLES = np.deg2rad(np.arange(0.0, 360.0, 1.0))
_BINS = 30
_LOWEST = 0.003
"""Share of places that may lie below the bottom: spikes."""
_SEEN = 40_000
_TUKEY = 4.685
_MAD_TO_SIGMA = 1.4826


@dataclass(frozen=True, eq=False)
class Level:
    """A tilt.

    Attributes
    ----------
    up : (3,) float
        Unit, in the centre plane.
    spread_rad : float
        Standard error of the tilt.
    residual_mm : float
        Root mean square distance, up and down, of what was levelled by.
    share : float
        Of the tank's length with an edge below it, or of its area in the flat underside; 1 by
        picks.
    """

    up: FloatArray
    spread_rad: float
    residual_mm: float
    share: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "up", locked(np.array(self.up, np.float64)))


class _Line(NamedTuple):
    """A line in the side view, as seen with a rough up."""

    slope: float
    height: float


class _Bottom(NamedTuple):
    """A side of the tank in the side view: up's angle, how high it lies, what share is there."""

    angle: float
    base: float
    share: float


class NoLevelError(GeometryError):
    """There is neither a flat bottom edge nor a flat underside to level by."""


class LevelPicksError(GeometryError):
    """The picks do not fix a level: too few, or too near to each other along the tank.

    Attributes
    ----------
    picks : int
    apart_mm : float
        How far apart they lie, seen from the side.
    """

    def __init__(self, picks: int, apart_mm: float) -> None:
        self.picks, self.apart_mm = picks, apart_mm
        super().__init__(f"{picks} picks {apart_mm:.1f} mm apart do not fix a level")


def level_from_picks(
    plane: CentrePlane, picks: Sequence[FloatArray] | FloatArray, *, up: FloatArray
) -> Level:
    """Return the level at which (k, 3) picks lie, seen from the side, along one level line.

    Parameters
    ----------
    plane : CentrePlane
    picks : (k, 3) float, mm
        At least two, anywhere across the tank.
    up : (3,) float
        Roughly up: tells which side of the line is up.

    Raises
    ------
    LevelPicksError, DirectionAcrossError

    >>> plane = CentrePlane(np.zeros(3), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    >>> picks = np.array([[0.0, 7.0, 1.0], [100.0, -4.0, 1.0]])
    >>> level_from_picks(plane, picks, up=np.array([0.1, 0.0, 1.0])).up.tolist()
    [0.0, 0.0, 1.0]
    """
    places = np.asarray(picks, np.float64).reshape(-1, 3)
    rough = direction_in_plane("up", np.asarray(up, np.float64), plane.normal)
    view = _side_view(plane)
    flat = places @ view.T
    apart = float(np.linalg.norm(np.ptp(flat, axis=0))) if len(flat) else 0.0
    if len(flat) < 2 or apart == 0.0:
        raise LevelPicksError(len(flat), apart)
    _, lengths, axes = np.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)
    across = float(lengths[1])
    spare = len(flat) - 2
    scattered = across / np.sqrt(spare) if spare > 0 else 0.0
    tilt = max(scattered, PICK_ERROR_MM) / max(float(lengths[0]), 1e-12)
    if tilt > UNFIXED_RAD:
        raise LevelPicksError(len(flat), apart)
    found = np.array([-axes[0, 1], axes[0, 0]]) @ view
    return Level(
        up=found * np.sign(found @ rough) + 0.0,
        spread_rad=tilt,
        residual_mm=across / float(np.sqrt(len(flat))),
        share=1.0,
    )


def level_from_edge(
    mesh: TriMesh, plane: CentrePlane, *, up: FloatArray | None = None, report: Report = silent
) -> Level:
    """Return the level of the bottom edge, or of the flat underside where there is no such edge.

    The bottom is the side on which open edges run along most of the tank's length with all of the
    tank above them; holes elsewhere do not count. The edge's tilt is fitted with what waves off
    let go.

    Parameters
    ----------
    mesh : TriMesh, mm
    plane : CentrePlane
    up : (3,) float, optional
        Roughly up; without it every side may be the bottom.

    Raises
    ------
    NoLevelError, DirectionAcrossError
    """
    report(0.0, "Looking for the bottom edge")
    view = _side_view(plane)
    angles = _ANGLES
    if up is not None:
        rough = view @ direction_in_plane("up", np.asarray(up, np.float64), plane.normal)
        said = np.stack([np.cos(angles), np.sin(angles)], axis=1) @ rough
        angles = angles[said > np.cos(_NEAR_SAID_RAD)]
    edges = _open_edges(mesh.faces)
    seen = mesh.vertices[:: max(1, len(mesh.vertices) // _SEEN)] @ view.T
    report(0.4, "Looking for the bottom edge")
    rim = mesh.vertices[edges].mean(axis=1)
    found = _best_edge(rim @ view.T, seen, angles)
    if found is not None:
        report(1.0, "Looking for the bottom edge")
        return _levelled(plane, rim, edge_lengths(mesh.vertices, edges), seen, found)
    report(0.6, "Looking for the flat underside")
    patches = patches_of(mesh)
    places = patches.points + patches.middle
    facing = patches.normals @ view.T
    found = _best_face(places @ view.T, facing, seen, angles)
    report(1.0, "Looking for the flat underside")
    if found is None:
        raise NoLevelError
    down = facing @ _directions(found[0])[0] < -_FACING_DOWN
    return _levelled(plane, places[down], np.ones(int(down.sum())), seen, found)


def _side_view(plane: CentrePlane) -> FloatArray:
    """Return (2, 3) unit directions in the plane, square to each other."""
    return np.asarray(np.linalg.svd(plane.normal[None])[2][1:])


def _open_edges(faces: IntArray) -> IntArray:
    """Return (k, 2) the edges with a face on one side only.

    >>> _open_edges(np.array([[0, 1, 2], [2, 1, 3]])).tolist()
    [[0, 1], [0, 2], [1, 3], [2, 3]]
    """
    if not len(faces):
        return np.empty((0, 2), np.int64)
    span = int(faces.max()) + 1
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    key = np.sort(np.minimum(start, end) * span + np.maximum(start, end))
    differs = key[1:] != key[:-1]
    once = np.concatenate([[True], differs]) & np.concatenate([differs, [True]])
    return np.stack([key[once] // span, key[once] % span], axis=1)


def _best_edge(rim: FloatArray, seen: FloatArray, angles: FloatArray) -> _Bottom | None:
    """Return the side on which rim places run below all else along most of the length."""
    best: _Bottom | None = None
    least_off = np.inf
    for angle in angles if len(rim) else ():
        upward, onward = _directions(angle)
        length = seen @ onward
        first, extent = float(length.min()), float(np.ptp(length))
        base = float(np.quantile(seen @ upward, _LOWEST))
        height = rim @ upward - base
        low = np.abs(height) < BAND * extent
        bins = ((rim[low] @ onward - first) / max(extent, 1e-12) * _BINS).astype(np.int64)
        share = len(np.unique(np.clip(bins, 0, _BINS - 1))) / _BINS
        off = float(np.std(height[low])) if low.any() else np.inf
        better = best is None or share > best.share or (share == best.share and off < least_off)
        if share >= LEAST_COVERED and better:
            best, least_off = _Bottom(float(angle), base, share), off
    return best


def _best_face(
    places: FloatArray, normals: FloatArray, seen: FloatArray, angles: FloatArray
) -> _Bottom | None:
    """Return the side on which most patches face down at the bottom."""
    best: _Bottom | None = None
    for angle in angles:
        upward, onward = _directions(angle)
        base = float(np.quantile(seen @ upward, _LOWEST))
        low = np.abs(places @ upward - base) < BAND * float(np.ptp(seen @ onward))
        low &= normals @ upward < -_FACING_DOWN
        share = float(low.mean())
        if share >= LEAST_FACE and (best is None or share > best.share):
            best = _Bottom(float(angle), base, share)
    return best


def _directions(angle: float) -> tuple[FloatArray, FloatArray]:
    up = np.array([np.cos(angle), np.sin(angle)])
    return up, np.array([up[1], -up[0]])


def _levelled(
    plane: CentrePlane,
    places: FloatArray,
    lengths: FloatArray,
    seen: FloatArray,
    bottom: _Bottom,
) -> Level:
    """Return the level of the (k, 3) places near a bottom, found roughly, weighed by length."""
    angle, base, share = bottom
    upward, onward = _directions(angle)
    view = _side_view(plane)
    x, y = places @ (onward @ view), places @ (upward @ view)
    band = BAND * float(np.ptp(seen @ onward))
    line = _Line(0.0, base)
    taken = np.abs(y - base) < band
    for _ in range(4):
        line = _line_through(x[taken], y[taken], lengths[taken])
        taken = np.abs(y - line.height - line.slope * x) < band
    line = _line_through(x[taken], y[taken], lengths[taken])
    off, weights = y[taken] - line.height - line.slope * x[taken], lengths[taken]
    weights = weights * _believed(off)
    mean = float(weights @ x[taken] / weights.sum())
    hand = plane.off(places[taken]) > 0.0
    steps = np.stack([np.floor((x[taken] - x.min()) / ALIKE_OVER_MM), hand], axis=1)
    block = np.unique(steps, axis=0, return_inverse=True)[1].ravel()
    pulls = np.bincount(block, weights=weights * off * (x[taken] - mean))
    spare = max(len(pulls) - 2, 1) / len(pulls)
    spread = np.sqrt(float(pulls @ pulls) / spare) / float(weights @ (x[taken] - mean) ** 2)
    tilt = float(np.arctan(line.slope))
    return Level(
        up=(np.cos(tilt) * upward - np.sin(tilt) * onward) @ view,
        spread_rad=float(spread),
        residual_mm=float(np.sqrt(weights @ off**2 / weights.sum())),
        share=share,
    )


def _line_through(x: FloatArray, y: FloatArray, lengths: FloatArray) -> _Line:
    """Return the line nearest to most places, those far off it let go."""
    weights = lengths
    line = _Line(0.0, 0.0)
    for _ in range(30):
        total = max(float(weights.sum()), 1e-300)
        mean_x, mean_y = float(weights @ x) / total, float(weights @ y) / total
        away = x - mean_x
        slope = float(weights @ (away * (y - mean_y))) / max(float(weights @ away**2), 1e-300)
        line = _Line(slope, mean_y - slope * mean_x)
        weights = lengths * _believed(y - line.height - line.slope * x)
    return line


def _believed(off: FloatArray) -> FloatArray:
    """Return Tukey's biweight of distances on their own scale."""
    sigma = max(_MAD_TO_SIGMA * float(np.median(np.abs(off))), 1e-9)
    return np.asarray(np.maximum(0.0, 1.0 - (off / (_TUKEY * sigma)) ** 2) ** 2)

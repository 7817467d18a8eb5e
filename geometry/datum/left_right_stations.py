"""Left against right, station by station from the rear to the front."""

import itertools
from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.datum.stand import Datum
from geometry.mesh import TriMesh

_LEAST_PLACES = 12
_BY_THE_WIDEST_MM = 4.0


@dataclass(frozen=True, eq=False)
class StationDifference:
    """How the hands differ about one station.

    Attributes
    ----------
    station_mm : float
        Ahead of the datum's origin.
    median, largest : float, mm
        How far the left stands out over the right, signed; the largest leaves out the outermost
        one in a hundred, so that no single place makes it. Nan where nothing faces anything.
    largest_at : (3,) float, mm
        On the hand that stands further out there.
    left_width, right_width : float, mm
        From the centre plane to where each hand's outline is widest, as scanned; nan where the
        scan breaks off by there, on either hand.
    """

    station_mm: float
    median: float
    largest: float
    largest_at: FloatArray
    left_width: float
    right_width: float

    def __post_init__(self) -> None:
        locked(self.largest_at)


def station_differences(
    mesh: TriMesh, datum: Datum, difference: FloatArray, every_mm: float
) -> tuple[StationDifference, ...]:
    """Return what (n,) differences of vertices come to about stations so far apart.

    A station stands for the skin up to half way to the next.
    """
    if not every_mm > 0.0:
        raise ValueError("stations have to be some way apart")
    local = datum.to_datum(mesh.vertices)
    nearest = np.rint(local[:, 0] / every_mm).astype(np.int64)
    order = np.argsort(nearest, kind="stable")
    first, last = int(nearest.min()), int(nearest.max())
    cuts = np.searchsorted(nearest[order], np.arange(first, last + 2))
    out = []
    for number, (start, end) in enumerate(itertools.pairwise(cuts.tolist()), first):
        rows = order[start:end]
        rows = rows[np.isfinite(difference[rows])]
        if len(rows) >= _LEAST_PLACES:
            at = number * every_mm
            widths = _widths(at, local, mesh.faces, np.isfinite(difference))
            out.append(_station(at, local[rows], difference[rows], widths, datum))
    return tuple(out)


def _station(
    at_mm: float,
    local: FloatArray,
    difference: FloatArray,
    widths: list[float],
    datum: Datum,
) -> StationDifference:
    left_over = difference * np.where(local[:, 1] >= 0.0, 1.0, -1.0)
    size = np.abs(difference)
    most = np.argsort(size)[: max(1, round(0.99 * len(size)))]
    further_out = most[np.flatnonzero(difference[most] >= 0.0)]
    place = further_out[-1] if len(further_out) else most[-1]
    return StationDifference(
        station_mm=at_mm,
        median=float(np.median(left_over)),
        largest=float(left_over[most[-1]]),
        largest_at=datum.from_datum(local[place][None])[0],
        left_width=widths[0],
        right_width=widths[1],
    )


def _widths(at_mm: float, local: FloatArray, faces: IntArray, faced: BoolArray) -> list[float]:
    """Return how far left and right the outline at a station reaches, in the datum's frame."""
    ahead = local[:, 0] >= at_mm
    rises = ahead[faces]
    cut = faces[rises.any(axis=1) & ~rises.all(axis=1)]
    ends = np.stack([cut, np.roll(cut, -1, axis=1)], axis=2).reshape(-1, 2)
    ends = np.sort(ends[ahead[ends[:, 0]] != ahead[ends[:, 1]]], axis=1)
    ends, times = np.unique(ends, axis=0, return_counts=True)
    start, end = local[ends[:, 0]], local[ends[:, 1]]
    along = (at_mm - start[:, 0]) / (end[:, 0] - start[:, 0])
    outline = start + along[:, None] * (end - start)
    breaks_off = (times == 1) | ~faced[ends].all(axis=1)
    return [_width(outline * np.array([1.0, hand, 1.0]), breaks_off) for hand in (1.0, -1.0)]


def _width(outline: FloatArray, breaks_off: BoolArray) -> float:
    """Return how far places of an outline reach to y, nan where the metal breaks off by there."""
    if not len(outline) or outline[:, 1].max() <= 0.0:
        return float("nan")
    widest = outline[outline[:, 1].argmax()]
    by = np.linalg.norm(outline - widest, axis=1) < _BY_THE_WIDEST_MM
    return float("nan") if breaks_off[by].any() else float(widest[1])

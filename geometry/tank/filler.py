"""The filler set on the skin: hole, ring and flange lines, its seat, how far the cap stands up."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.tank.recess import RecessBlank, recess_blank
from geometry.tank.seat import Seat, seat_on

SeatKind = Literal["flat", "recessed"]


class FillerOnSeamError(GeometryError):
    """A filler whose lines run over a seam.

    Attributes
    ----------
    seam : str
    distance_mm, needed_mm : float
        From the filler's centre to the seam, and how far its outermost line reaches.
    """

    def __init__(self, seam: str, distance_mm: float, needed_mm: float) -> None:
        self.seam, self.distance_mm, self.needed_mm = seam, distance_mm, needed_mm
        super().__init__(f"{seam} passes {distance_mm:.1f} mm from the filler")


@dataclass(frozen=True)
class FillerSpec:
    """What is wanted of a filler.

    Attributes
    ----------
    x_mm, y_mm : float
        Its centre ahead and left in tank axes.
    hole_mm : float
        Hole through the skin, or through the recess's floor.
    ring_mm : float
        Outside of the ring welded in.
    seat : "flat" or "recessed"
    recess_mm, depth_mm : float
        Across the recess inside, and from the skin's outside down to its floor.
    flange_mm : float
        Width of the flange beaten round the mouth of the recess: its flat, under the skin.
    floor_corner_mm, edge_radius_mm : float
        Radius inside the corner of the recess's floor, and over its beaten edge, as seen.
    cap_mm, cap_height_mm : float
        Across the cap, and from its seat to its top.
    """

    x_mm: float
    y_mm: float = 0.0
    hole_mm: float = 60.0
    ring_mm: float = 76.0
    seat: SeatKind = "flat"
    recess_mm: float = 90.0
    depth_mm: float = 12.0
    flange_mm: float = 10.0
    floor_corner_mm: float = 3.0
    edge_radius_mm: float = 4.0
    cap_mm: float = 70.0
    cap_height_mm: float = 22.0

    @property
    def reach_mm(self) -> float:
        """Across its outermost line on the skin."""
        if self.seat == "flat":
            return max(self.ring_mm, self.hole_mm)
        return self.recess_mm + 2.0 * (self.edge_radius_mm + self.flange_mm)

    @property
    def cut_mm(self) -> float:
        """Across the hole cut in the skin: for a recess, where the flat of its flange begins."""
        if self.seat == "flat":
            return self.hole_mm
        return self.recess_mm + 2.0 * self.edge_radius_mm


@dataclass(frozen=True, eq=False)
class FillerLine:
    """One closed line of the filler on the skin.

    Attributes
    ----------
    what : "hole", "ring" or "flange"
    across_mm : float
    points : (k, 3) float, mm
        Tank axes, not repeated.
    laid : (k, 2) float, mm
        The same line on a template laid on the skin from the centre: x ahead, seen from outside.
    """

    what: str
    across_mm: float
    points: FloatArray
    laid: FloatArray

    def __post_init__(self) -> None:
        locked(self.points)
        locked(self.laid)


@dataclass(frozen=True, eq=False)
class FillerSet:
    """A filler as it comes to sit.

    Attributes
    ----------
    spec : FillerSpec
    seat : Seat
    lines : tuple of FillerLine
        On the outside of the skin; the hole first.
    off_flat_mm : float
        How far the skin under the outermost line leaves a flat.
    rear_stands_mm : float
        The cap's rear edge over the skin behind it.
    most_stands_mm : float
        The most it stands over the skin anywhere round it.
    recess : RecessBlank or None
    """

    spec: FillerSpec
    seat: Seat
    lines: tuple[FillerLine, ...]
    off_flat_mm: float
    rear_stands_mm: float
    most_stands_mm: float
    recess: RecessBlank | None


def filler_set(
    skin: TriMesh,
    spec: FillerSpec,
    *,
    metal_mm: float,
    seams: Sequence[tuple[str, FloatArray]] = (),
) -> FillerSet:
    """Return a filler set on the skin.

    The seat of a flat one lies at the mean height of the skin under its outermost line, that of a
    recess so far below. What a cap stands up by is from its top to the skin around, along the
    filler's axis.

    Parameters
    ----------
    skin : TriMesh
        The outside, tank axes, mm.
    spec : FillerSpec
    metal_mm : float
    seams : sequence of (name, (k, 3) points)
        Tank axes; the filler may not lie over one.

    Raises
    ------
    SeatOffTankError
    FillerOnSeamError
    TooShallowError
        The recess is no deeper than its two bends.
    EdgeTooTightError
    """
    seat = seat_on(skin, "filler", spec.x_mm, spec.y_mm, spec.reach_mm, on_centre=spec.y_mm == 0.0)
    _check_seams(seat, spec, seams)
    around = seat.circle(spec.reach_mm)
    heights = (around - seat.centre) @ seat.axis
    mean = float(heights.mean())
    floor = mean if spec.seat == "flat" else mean - spec.depth_mm
    top = floor + spec.cap_height_mm
    outside = seat.circle(max(spec.cap_mm, spec.reach_mm if spec.seat == "recessed" else 0.0))
    stands = top - (outside - seat.centre) @ seat.axis
    return FillerSet(
        spec=spec,
        seat=seat,
        lines=_lines(seat, spec),
        off_flat_mm=float(np.abs(heights - mean).max()),
        rear_stands_mm=float(stands[len(stands) // 2]),
        most_stands_mm=float(stands.max()),
        recess=_recess(spec, metal_mm),
    )


def _lines(seat: Seat, spec: FillerSpec) -> tuple[FillerLine, ...]:
    if spec.seat == "flat":
        across = [("hole", spec.hole_mm), ("ring", spec.ring_mm)]
    else:
        across = [("hole", spec.cut_mm), ("flange", spec.reach_mm)]
    return tuple(
        FillerLine(what, size, seat.circle(size), seat.laid(size)) for what, size in across
    )


def _recess(spec: FillerSpec, metal_mm: float) -> RecessBlank | None:
    if spec.seat == "flat":
        return None
    return recess_blank(
        spec.recess_mm,
        spec.depth_mm,
        flange_mm=spec.flange_mm,
        floor_corner_mm=spec.floor_corner_mm,
        edge_radius_mm=spec.edge_radius_mm,
        metal_mm=metal_mm,
        under_mm=metal_mm,
    )


def _check_seams(seat: Seat, spec: FillerSpec, seams: Sequence[tuple[str, FloatArray]]) -> None:
    reach = spec.reach_mm / 2.0
    for name, points in seams:
        local = (points - seat.centre) @ seat.frame.T
        distance = _nearest_on_line(local, reach)
        if distance < reach:
            raise FillerOnSeamError(name, distance, reach)


def _nearest_on_line(local: FloatArray, reach: float) -> float:
    """Return how near a line comes to the axis, where it runs no deeper than the reach."""
    start, along = local[:-1, :2], np.diff(local[:, :2], axis=0)
    length = np.maximum((along**2).sum(axis=1), 1e-300)
    share = np.clip(-(start * along).sum(axis=1) / length, 0.0, 1.0)
    away = np.linalg.norm(start + share[:, None] * along, axis=1)
    depth = np.abs(local[:-1, 2] + share * np.diff(local[:, 2]))
    near = away[depth <= reach]
    return float(near.min()) if len(near) else float("inf")

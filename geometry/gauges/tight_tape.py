"""A tape pulled tight over the skin in one plane: right round, or from one place to another."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from geometry.arrays import FloatArray
from geometry.gauges.taped_skin import TapedSkin
from geometry.polyline import line_length

_HANGS_MM = 0.3
"""A tape that changes by more when the skin's rim is left out hangs on where the scan ends."""


@dataclass(frozen=True, eq=False)
class TightTape:
    """Where a tight tape lies.

    Attributes
    ----------
    line : (k, 3) float, mm
        A closed one repeats its first point.
    length : float, mm
    """

    line: FloatArray
    length: float


def tape_round(
    skin: TapedSkin, point: FloatArray, normal: FloatArray, *, roughly: bool = False
) -> TightTape | None:
    """Return the tape right round in a plane: the convex outline of the section; None without."""
    return _outline(skin.crossing(point, normal, roughly=roughly), normal)


def hangs_on_rim(skin: TapedSkin, tape: TightTape, point: FloatArray, normal: FloatArray) -> bool:
    """Return whether a tape right round would read otherwise if the scan ended a little sooner."""
    cut = skin.crossing(point, normal)
    inner = _outline(cut[skin.off_rim(cut)], normal)
    return inner is None or abs(inner.length - tape.length) > _HANGS_MM


def tape_over(skin: TapedSkin, ends: FloatArray, outward: FloatArray) -> TightTape | None:
    """Return the tape pulled tight over the skin from place to place; None without a way out.

    Parameters
    ----------
    skin : TapedSkin
    ends : (2, 3) float, mm
        On the skin.
    outward : (3,) float
        To which side of the straight between them it lies; with that straight it spans the plane.
    """
    frame = _frame(ends, outward)
    if frame is None:
        return None
    return _over(ends, frame, skin.crossing(ends[0], np.cross(*frame)))


def over_hangs_on_rim(
    skin: TapedSkin, tape: TightTape, ends: FloatArray, outward: FloatArray
) -> bool:
    """Return whether a tape over the skin would read otherwise if the scan ended sooner."""
    frame = _frame(ends, outward)
    if frame is None:
        return True
    cut = skin.crossing(ends[0], np.cross(*frame))
    return abs(_over(ends, frame, cut[skin.off_rim(cut)]).length - tape.length) > _HANGS_MM


def _frame(ends: FloatArray, outward: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Return the way from end to end, and the way out square to it."""
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    out = outward - (outward @ along) * along
    size = float(np.linalg.norm(out))
    return None if size < 1e-6 else (along, out / size)


def _over(ends: FloatArray, frame: tuple[FloatArray, FloatArray], cut: FloatArray) -> TightTape:
    """Return the outline over places of a plane, from end to end."""
    flat = (cut - ends[0]) @ np.stack(frame, axis=1)
    reach = float(np.linalg.norm(ends[1] - ends[0]))
    beside = (flat[:, 0] > 0.0) & (flat[:, 0] < reach) & (flat[:, 1] > 0.0)
    points = np.concatenate([ends, cut[beside]])
    line = points[_upper(np.concatenate([[[0.0, 0.0], [reach, 0.0]], flat[beside]]))]
    return TightTape(line, line_length(line))


def _upper(flat: FloatArray) -> list[int]:
    """Return which points lie on the outline from the first to the second, over all the others."""
    try:
        ring = [int(k) for k in ConvexHull(flat).vertices] if len(flat) > 2 else [1, 0]
    except QhullError:  # nothing stands over the straight between the ends
        return [0, 1]
    start = ring.index(1)
    turned = [*ring[start:], *ring[:start]]  # counter-clockwise: from the second over to the first
    return turned[: turned.index(0) + 1][::-1]


def _outline(cut: FloatArray, normal: FloatArray) -> TightTape | None:
    if len(cut) < 3:
        return None
    across = np.cross(normal, np.eye(3)[int(np.abs(normal).argmin())])
    across /= np.linalg.norm(across)
    plane = np.stack([across, np.cross(normal, across) / np.linalg.norm(normal)])
    try:
        corners = ConvexHull(cut @ plane.T).vertices
    except QhullError:  # all in one line
        return None
    line = cut[[*corners, corners[0]]]
    return TightTape(line, line_length(line))

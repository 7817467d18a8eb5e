"""How long a seam is, and how much of it is seen on the finished machine."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.gauges import TankAxes
from geometry.mesh import vertex_normals
from geometry.panels import CutSurface

SeenMark = Literal["", "seen", "hidden"]
"""What the maker says of a whole seam; "" leaves it to where the skin faces."""

_BELOW_LEVEL = sin(radians(30.0))
_TOWARDS_END = cos(radians(45.0))
_END = 0.2
"""Skin that faces 30 degrees or more below level is underside; what faces ahead within the front
fifth of the tank lies under the headstock, what faces back within the rear fifth behind the seat.
That seams are put there to hide them is common practice, no source; the limits are ours."""


@dataclass(frozen=True)
class Sight:
    """Where on the tank nobody looks.

    Attributes
    ----------
    axes : TankAxes
        Ahead, left and up, from the rear end.
    length_mm : float
        Of the tank, from its rear end to its front.
    """

    axes: TankAxes
    length_mm: float

    def is_hidden(self, points: FloatArray, normals: FloatArray) -> BoolArray:
        """Return which of (k, 3) places are hidden, by where they are and where they face."""
        ahead, _, up = (normals @ self.axes.axes.T).T
        along = self.axes.to_tank(points)[:, 0] / self.length_mm
        underneath = up < -_BELOW_LEVEL
        under_headstock = (ahead > _TOWARDS_END) & (along > 1.0 - _END)
        behind_seat = (ahead < -_TOWARDS_END) & (along < _END)
        return np.asarray(underneath | under_headstock | behind_seat)


def sight_of(outside: FloatArray, axes: TankAxes) -> Sight:
    """Return where nobody looks on a tank, from its (n, 3) vertices and its axes."""
    return Sight(axes, float(axes.to_tank(outside)[:, 0].max()))


@dataclass(frozen=True)
class SeamFigures:
    """What a seam costs.

    Attributes
    ----------
    name : str
    length_mm : float
        Over the scanned face.
    seen_mm, hidden_mm : float
        What of it is seen, and what is not: together its length.
    """

    name: str
    length_mm: float
    seen_mm: float
    hidden_mm: float


def figures_of_cut(
    cut: CutSurface, sight: Sight | None = None, marks: Mapping[str, SeenMark] | None = None
) -> tuple[SeamFigures, ...]:
    """Return what each seam of a cut costs, in its order; `marks` by the names of seams."""
    normals = vertex_normals(cut.outside, cut.mesh.faces)
    found = []
    for path in cut.seam_paths:
        mark = (marks or {}).get(path.name, "")
        runs = [
            seam_figures(path.name, cut.outside[run], normals[run], sight, mark=mark)
            for run in cut.joints(path)
        ]
        found.append(
            SeamFigures(
                path.name,
                sum(run.length_mm for run in runs),
                sum(run.seen_mm for run in runs),
                sum(run.hidden_mm for run in runs),
            )
        )
    return tuple(found)


def seam_figures(
    name: str,
    points: FloatArray,
    normals: FloatArray,
    sight: Sight | None = None,
    *,
    mark: SeenMark = "",
) -> SeamFigures:
    """Return what a seam costs.

    Parameters
    ----------
    name : str
    points : (k, 3) float, mm
        Along it, on the scanned face; a closed seam repeats its first.
    normals : (k, 3) float
        The skin's, outward.
    sight : Sight, optional
        Without one, nobody having said where front and top are, all of a seam is seen.
    mark : "", "seen" or "hidden"
        What the maker says of the whole seam; it overrules where the skin faces.
    """
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    length = float(lengths.sum())
    if mark:
        hidden = length if mark == "hidden" else 0.0
    elif sight is None:
        hidden = 0.0
    else:
        middles = (points[1:] + points[:-1]) / 2.0
        facing = normals[1:] + normals[:-1]
        facing = facing / np.maximum(np.linalg.norm(facing, axis=1, keepdims=True), 1e-300)
        hidden = float(lengths[sight.is_hidden(middles, facing)].sum())
    return SeamFigures(name, length, length - hidden, hidden)

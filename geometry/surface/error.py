"""How far off a working surface may be by the scan's noise alone, vertex by vertex."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.surface.net import Net, edges_of
from geometry.surface.rim import SmoothRim
from geometry.surface.smooth import PointSurface

_HALF_TOGETHER = 0.405
"""Of a fit's reach: where the autocorrelation of its weights on points all round is one half.

Of (1 - r^2)^2 times the quadratic that makes it reproduce quadrics, integrated over the plane.
"""


@dataclass(frozen=True, eq=False)
class SurfaceErrors:
    """Standard errors of a working surface.

    Attributes
    ----------
    normal_mm, rim_mm : (n,) float
        Along the normal; across the rim within the surface, 0 off the rim.
    correlation_mm : float
        How far apart the errors of two vertices go half together.
    """

    normal_mm: FloatArray
    rim_mm: FloatArray
    correlation_mm: float


def errors_of(
    net: Net,
    outside: FloatArray,
    surface: PointSurface,
    smooth_rims: Sequence[SmoothRim],
    noise_mm: float,
) -> SurfaceErrors:
    """Return the standard errors of a net's vertices, whose (n, 3) outside was fitted to points."""
    shares = surface.shares(outside, net.normals)
    error = noise_mm * np.sqrt(shares.variance)
    seen = np.zeros(len(outside), bool)
    seen[net.faces[~net.guessed]] = True
    if seen.any() and not seen.all():
        near = np.asarray(cKDTree(outside[seen]).query(outside[~seen])[1], np.int64)
        error[~seen] = error[seen][near]
    return SurfaceErrors(
        normal_mm=error,
        rim_mm=_across_rims(_rim_vertices(net.faces), outside, smooth_rims),
        correlation_mm=_HALF_TOGETHER * float(np.median(shares.reach_mm)),
    )


def _rim_vertices(faces: IntArray) -> IntArray:
    table = edges_of(faces)
    on_rim: BoolArray = table.is_rim
    return np.unique(table.ends[on_rim])


def _across_rims(
    rim: IntArray, outside: FloatArray, smooth_rims: Sequence[SmoothRim]
) -> FloatArray:
    """Return (n,) standard errors of rim vertices, from the nearest points of smoothed rims."""
    out = np.zeros(len(outside))
    if len(rim) and smooth_rims:
        places = np.concatenate([smooth.points for smooth in smooth_rims])
        error = np.concatenate([smooth.error_mm for smooth in smooth_rims])
        out[rim] = error[np.asarray(cKDTree(places).query(outside[rim])[1], np.int64)]
    return out

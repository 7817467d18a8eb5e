"""`TightBend`: where an outline turns more tightly than the scan's points can show.

A crisp line that is not kept is rounded off a little: by the smoothing that takes the noise out,
and by the scan itself, whose points seldom lie on its tip. Cut from the scan's own triangles the
tip is no truer: they cut it short between their points.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, locked
from geometry.gauges.gauged_skin import GaugedSkin, in_tank
from geometry.mesh import TriMesh
from geometry.polyline import in_pieces, line_length
from geometry.surface import sag_of_bend, sharpest_bend

LEAST_OFF_MM = 0.3
"""Less is within what a scan's noise does to a board anyway."""

_ERRORS = 2.0
"""How many standard errors are told."""

_KEPT_MM = 4.0
_APART_MM = 10.0


@dataclass(frozen=True, eq=False)
class TightBend:
    """A place of a board's edge that may be rounded off.

    Attributes
    ----------
    at : (2,) float, mm
        On the board.
    off_mm : float
        By about how much: two standard errors.
    """

    at: FloatArray
    off_mm: float

    def __post_init__(self) -> None:
        locked(self.at)


class TightBends:
    """Finds where outlines of a skin turn too tightly for the scan it is from.

    Parameters
    ----------
    skin : GaugedSkin
    spacing_mm : float
        How far the scan's points are apart.
    kept : sequence of (k, 3) float, mm
        Lines kept crisp, in tank axes: what runs along them is fitted side by side.
    """

    def __init__(self, skin: GaugedSkin, spacing_mm: float, kept: Sequence[FloatArray]) -> None:
        mesh = TriMesh(skin.scanned.vertices, skin.scanned.faces)
        off = _ERRORS * sag_of_bend(sharpest_bend(mesh), spacing_mm)
        for line in kept:
            tree = cKDTree(_filled_in(line))
            near = tree.query(mesh.vertices, distance_upper_bound=_KEPT_MM)[0]
            off[np.isfinite(near)] = 0.0
        chosen = np.flatnonzero(off >= LEAST_OFF_MM)
        self._off = off[chosen]
        self._tree = cKDTree(skin.vertices[chosen]) if len(chosen) else None

    def along(self, arch: FloatArray, axis: int, at_mm: float) -> tuple[TightBend, ...]:
        """Return the tight bends of an outline (k, 2) on its board, in the order it runs."""
        if self._tree is None:
            return ()
        found = self._tree.query(in_tank(arch, axis, at_mm), distance_upper_bound=_KEPT_MM)
        apart, nearest = np.asarray(found[0]), np.asarray(found[1])
        hits = np.flatnonzero(np.isfinite(apart))
        off = np.asarray(self._off[nearest[hits]])
        steps = np.linalg.norm(np.diff(arch, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])[hits]
        groups = np.split(np.arange(len(hits)), np.flatnonzero(np.diff(along) > _APART_MM) + 1)
        most = [
            max(group.tolist(), key=lambda k: (round(float(off[k]), 6), -apart[hits[k]]))
            for group in groups
            if len(group)
        ]
        return tuple(TightBend(arch[hits[k]].copy(), float(off[k])) for k in most)


def _filled_in(line: FloatArray) -> FloatArray:
    """Return a line with points at most half of `_KEPT_MM` apart."""
    return in_pieces(line, max(int(np.ceil(line_length(line) / (_KEPT_MM / 2.0))), 1))

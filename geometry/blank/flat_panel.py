"""`FlatPanel`, the answer: where each bit of a panel lies on the flat sheet, and at what cost."""

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from shapely.geometry import MultiPoint

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.orientation import folded_or_flat
from geometry.blank.work import Work
from geometry.mesh import face_areas, loop_length


class Standing(Enum):
    """Whether a blank stands, and if not, of what kind the refusal is."""

    SETTLED = "settled"
    TOO_DEEP = "too deep"
    """The work has no stable least value: `FlatPanel.unsound_place` says where on the panel."""
    UNSETTLED = "not settled"
    """The search stopped with forces left though every face is sound."""


@dataclass(frozen=True, eq=False)
class FlatPanel:
    """A panel and its blank, vertex by vertex.

    Attributes
    ----------
    vertices : (n, 3) float, mm
        On the formed panel, middle of the metal.
    faces : (m, 3) int
        Counter-clockwise seen from outside, on both.
    flat_vertices : (n, 2) float, mm
        On the blank, seen from outside.
    stretches : (m, 2) float
        Formed over flat, larger first.
    thickness : (m,) float
        Ratio to the sheet's: flat over formed area.
    rim : (k,) int
        The rim as a loop of vertices.
    work : Work
    energy : float, mm2
        Sum of weight times work density.
    converged : bool
        Whether the forces balance, no face is unsound and the blank has not collapsed.
    residual : float
        Largest nodal force left, relative.
    iterations : int
    inverted : int
        Folded faces: 0 by construction.
    unsound : (m,) bool
        Faces past the limit of stability.
    overlap_area : float, mm2
        Metal counted twice where far parts of the blank lie on each other.
    overlap_place : (2,) float, mm
        The middle of it; not-a-number where there is none.
    """

    vertices: FloatArray
    faces: IntArray
    flat_vertices: FloatArray
    stretches: FloatArray
    thickness: FloatArray
    rim: IntArray
    work: Work
    energy: float
    converged: bool
    residual: float
    iterations: int
    inverted: int
    unsound: BoolArray
    overlap_area: float
    overlap_place: FloatArray

    @property
    def formed_areas(self) -> FloatArray:
        """Return the (m,) areas on the formed panel, mm2."""
        return face_areas(self.vertices, self.faces)

    @property
    def formed_area(self) -> float:
        """Return the area of the formed panel, mm2."""
        return float(self.formed_areas.sum())

    @property
    def blank_area(self) -> float:
        """Return the area of the blank inside its net line, mm2."""
        return float(self.formed_areas @ self.thickness)

    @property
    def rim_formed(self) -> float:
        """Return the length of the rim on the formed panel, mm."""
        return loop_length(self.vertices, self.rim)

    @property
    def rim_blank(self) -> float:
        """Return the length of the net line on the blank, mm."""
        return loop_length(self.flat_vertices, self.rim)

    @property
    def mean_work(self) -> float:
        """Return the work per unit of the weight's area, no unit."""
        weight = self.blank_area if self.work.weight == "blank" else self.formed_area
        return self.energy / weight

    @property
    def standing(self) -> Standing:
        """Return whether the blank stands, or why not: unsound faces count before forces left."""
        if self.unsound.any():
            return Standing.TOO_DEEP
        return Standing.SETTLED if self.converged else Standing.UNSETTLED

    @property
    def unsound_faces(self) -> int:
        """Return how many faces are past the limit of stability."""
        return int(self.unsound.sum())

    @property
    def unsound_place(self) -> FloatArray:
        """Return (3,), mm: the middle, on the panel, of the unsound face nearest to them all.

        Not-a-number where every face is sound.
        """
        if not self.unsound.any():
            return np.full(3, np.nan)
        middles = self.vertices[self.faces[self.unsound]].mean(axis=1)
        away = np.linalg.norm(middles - middles.mean(axis=0), axis=1)
        place: FloatArray = middles[int(np.argmin(away))]
        return place

    @property
    def signed_change(self) -> FloatArray:
        """Return (m,): the principal stretch that differs most from 1, less 1.

        Above 0 the sheet must be stretched there, below 0 shrunk: formed over flat less 1, along
        the direction in which most has to be done.
        """
        logs = np.log(self.stretches)
        larger = np.abs(logs[:, 0]) >= np.abs(logs[:, 1])
        return np.where(larger, self.stretches[:, 0], self.stretches[:, 1]) - 1.0

    @property
    def blank_size(self) -> tuple[float, float]:
        """Return the blank's extent along u and v, mm, as it lies."""
        extent = np.ptp(self.flat_vertices, axis=0)
        return float(extent[0]), float(extent[1])


def laid_along(flat: FlatPanel, front: FloatArray | None = None) -> FlatPanel:
    """Return the same blank turned and moved: FRONT along +u, its middle at the origin.

    Parameters
    ----------
    flat : FlatPanel
    front : (3,) float or None
        Which way the tank's front lies; None, or a front that no face of the panel can see, lays
        the blank's longest extent along u instead.
    """
    direction = None if front is None else _front_on_blank(flat, np.asarray(front, np.float64))
    if direction is None:
        direction = _longest_direction(flat.flat_vertices[flat.rim])
    cosine, sine = direction
    turned = flat.flat_vertices @ np.array([[cosine, -sine], [sine, cosine]])
    rim = turned[flat.rim]
    centre = (rim.max(axis=0) + rim.min(axis=0)) / 2.0
    place = (flat.overlap_place @ np.array([[cosine, -sine], [sine, cosine]])) - centre
    laid = turned - centre
    laid.setflags(write=False)
    # The thinnest face may be turned over by the turning's own rounding: count again.
    inverted = int(folded_or_flat(laid, flat.faces).sum())
    return replace(flat, flat_vertices=laid, overlap_place=place, inverted=inverted)


def _front_on_blank(flat: FlatPanel, front: FloatArray) -> FloatArray | None:
    """Return the mean (2,) direction in which FRONT lies on the blank, if there is one."""
    corners, flat_corners = flat.vertices[flat.faces], flat.flat_vertices[flat.faces]
    e1, e2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    metric = np.stack(
        [
            np.stack([(e1 * e1).sum(1), (e1 * e2).sum(1)], 1),
            np.stack([(e1 * e2).sum(1), (e2 * e2).sum(1)], 1),
        ],
        1,
    )
    part = np.stack([e1 @ front, e2 @ front], axis=1)[:, :, None]
    along = np.linalg.solve(metric, part)[:, :, 0]  # front within the face, by its two edges
    d1 = flat_corners[:, 1] - flat_corners[:, 0]
    d2 = flat_corners[:, 2] - flat_corners[:, 0]
    mean = (flat.formed_areas[:, None] * (along[:, :1] * d1 + along[:, 1:] * d2)).sum(axis=0)
    length = float(np.linalg.norm(mean))
    enough = 1e-3 * flat.formed_area * float(np.linalg.norm(front))
    return mean / length if length > enough else None


def _longest_direction(outline: FloatArray) -> FloatArray:
    """Return the (2,) direction of the longest side of the least rectangle about an outline."""
    box = MultiPoint(outline).minimum_rotated_rectangle
    corners = np.asarray(getattr(box, "exterior", box).coords)
    sides = np.diff(corners, axis=0)
    longest = sides[int(np.argmax(np.linalg.norm(sides, axis=1)))]
    longest = longest if longest[0] >= 0.0 else -longest
    return np.asarray(longest / np.linalg.norm(longest))

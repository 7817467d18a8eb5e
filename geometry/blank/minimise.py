"""Least work by projected Newton steps that can never fold a face.

Leaves what work is to `work`, and where to begin to `start`.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import SuperLU, splu

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank.ordering import nested_dissection
from geometry.blank.stretch import (
    RotatedStretches,
    face_maps,
    rest_frames,
    shape_gradients,
    split_rotations,
)
from geometry.blank.work import Density, Work, density
from geometry.mesh import TriMesh, edge_table
from geometry.progress import Report, silent

RESIDUAL_GOAL = 1e-8
MAX_ITERATIONS = 200
FORCE_FLOOR = 1e-4
"""Part of weight times gradient below which forces count as none: gives panels without strain a
residual that means something."""

_TWIST = np.array([[0.0, -1.0], [1.0, 0.0]]) / np.sqrt(2.0)
_FLIP = np.array([[0.0, 1.0], [1.0, 0.0]]) / np.sqrt(2.0)


@dataclass(frozen=True, eq=False)
class Elements:
    """What stays the same while a panel's blank moves.

    Attributes
    ----------
    faces : (m, 3) int
    areas : (m,) float, mm2
        On the formed panel.
    gradients : (m, 3, 2) float, 1/mm
        Of the corner functions, in each face's own plane.
    """

    faces: IntArray
    areas: FloatArray
    gradients: FloatArray
    vertex_count: int

    @staticmethod
    def of(mesh: TriMesh) -> "Elements":
        """Return the elements of a mesh whose faces all have area."""
        frames = rest_frames(mesh.vertices, mesh.faces)
        areas = frames[:, 0, 0] * frames[:, 1, 1] / 2.0
        return Elements(mesh.faces, areas, shape_gradients(frames), len(mesh.vertices))

    def stretches(self, flat_vertices: FloatArray) -> RotatedStretches:
        """Return the stretches flat over formed, split into rotations."""
        return split_rotations(face_maps(flat_vertices, self.faces, self.gradients))

    def energy(self, work: Work, stretches: FloatArray) -> float:
        """Return the sum of area times work density, mm2."""
        return float(self.areas @ density(work, stretches).value)


@dataclass(frozen=True, eq=False)
class Minimum:
    """Where the steps ended.

    Attributes
    ----------
    flat_vertices : (n, 2) float, mm
    energy : float, mm2
    residual : float
        Largest nodal force left, relative; see `relative_residual`.
    iterations : int
        Factorisations made.
    converged : bool
    """

    flat_vertices: FloatArray
    energy: float
    residual: float
    iterations: int
    converged: bool


def face_forces(elements: Elements, turned: RotatedStretches, d: Density) -> FloatArray:
    """Return (m, 3, 2), mm: the derivative of a face's work by its corners' places."""
    stress = np.matmul(turned.u * d.first[:, None, :], turned.v.transpose(0, 2, 1))  # P
    pull: FloatArray = np.matmul(elements.gradients, stress.transpose(0, 2, 1))
    return elements.areas[:, None, None] * pull


def nodal_sum(elements: Elements, per_corner: FloatArray) -> FloatArray:
    """Add (m, 3) values of corners up at their vertices, (n,)."""
    total: FloatArray = np.bincount(
        elements.faces.ravel(), weights=per_corner.ravel(), minlength=elements.vertex_count
    ).astype(np.float64, copy=False)
    return total


def _force_scale(elements: Elements, work: Work, forces: FloatArray, areas: FloatArray) -> float:
    at_node = nodal_sum(elements, np.linalg.norm(forces, axis=2)).max()
    weight = areas if work.weight == "blank" else elements.areas
    reach = np.linalg.norm(elements.gradients, axis=2) * weight[:, None]
    return float(max(at_node, FORCE_FLOOR * nodal_sum(elements, reach).max()))


def stiffness_blocks(elements: Elements, turned: RotatedStretches, d: Density) -> FloatArray:
    """Return (m, 6, 6): the Hessian of every face's work, negative eigenvalues set to nothing.

    The map's Hessian falls apart into a 2x2 block of scalings, one twist and one flip, so the
    projection is exact. Source: [teran2005] and [smith2019], here for any isotropic density.
    """
    s1, s2 = turned.s[:, 0], turned.s[:, 1]
    p1, p2 = d.first[:, 0], d.first[:, 1]
    apart = s1 - s2
    close = apart < 1e-7 * s1
    flip = np.where(close, d.second[:, 0] - d.second[:, 1], (p1 - p2) / np.where(close, 1, apart))
    twist = (p1 + p2) / (s1 + s2)
    half_sum = (d.second[:, 0] + d.second[:, 2]) / 2.0
    half_gap = (d.second[:, 0] - d.second[:, 2]) / 2.0
    root = np.hypot(half_gap, d.second[:, 1])
    lean = np.arctan2(d.second[:, 1], half_gap) / 2.0
    values = np.stack([half_sum + root, half_sum - root, twist, flip], axis=1)  # (m, 4)
    cosine, sine = np.cos(lean), np.sin(lean)
    zero = np.zeros_like(cosine)
    modes = np.stack(
        [
            np.stack([cosine, zero, zero, sine], axis=1),
            np.stack([-sine, zero, zero, cosine], axis=1),
            np.broadcast_to(_TWIST.ravel(), (len(s1), 4)),
            np.broadcast_to(_FLIP.ravel(), (len(s1), 4)),
        ],
        axis=1,
    ).reshape(-1, 4, 2, 2)
    turned_modes = turned.u[:, None] @ modes @ turned.v.transpose(0, 2, 1)[:, None]
    reach = np.matmul(elements.gradients[:, None], turned_modes.transpose(0, 1, 3, 2))
    reach = reach.reshape(-1, 4, 6)  # (m, modes, corner x axis)
    scale = np.maximum(values, 0.0) * elements.areas[:, None]
    blocks: FloatArray = np.matmul(reach.transpose(0, 2, 1) * scale[:, None, :], reach)
    return blocks


class StiffnessSolver:
    """The sparse matrix of one panel: pattern and elimination order made once, numbers often."""

    def __init__(self, elements: Elements, layout: FloatArray) -> None:
        n = elements.vertex_count
        order = nested_dissection(layout, edge_table(elements.faces).edges)
        place = np.empty(n, np.int64)
        place[order] = np.arange(n)
        unknown = 2 * place[elements.faces][:, :, None] + np.arange(2)  # (m, 3, 2)
        self.unknown = unknown.reshape(-1, 6)
        rows = np.repeat(self.unknown, 6, axis=1).ravel()
        columns = np.tile(self.unknown, (1, 6)).ravel()
        keys, self.slot = np.unique(columns * (2 * n) + rows, return_inverse=True)
        self.row = (keys % (2 * n)).astype(np.int32)
        starts = np.searchsorted(keys // (2 * n), np.arange(2 * n + 1))
        self.start = starts.astype(np.int32)
        self.size = 2 * n
        self.of_vertex = 2 * place[:, None] + np.arange(2)  # (n, 2)
        self.diagonal = np.searchsorted(keys, np.arange(2 * n) * (2 * n + 1))

    def factorised(self, blocks: FloatArray) -> "Factors":
        """Return the factors of the sum of the faces' (6, 6) blocks."""
        data = np.bincount(self.slot, weights=blocks.ravel(), minlength=len(self.row))
        data[self.diagonal] += 1e-11 * data[self.diagonal].mean()  # the blank may drift and turn
        matrix = csc_array((data, self.row, self.start), shape=(self.size, self.size))
        factors = splu(
            matrix,
            permc_spec="NATURAL",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True, "Equil": False},
        )
        return Factors(factors, self.of_vertex)


class Factors:
    """A stiffness taken apart once, so that loads can be answered with movements many times."""

    def __init__(self, factors: SuperLU, of_vertex: IntArray) -> None:
        self._factors, self._of_vertex = factors, of_vertex

    def solve(self, loads: FloatArray) -> FloatArray:
        """Return (n, 2) or (n, 2, k), mm: how the vertices move under nodal loads so shaped."""
        right = np.empty((self._of_vertex.size, *loads.shape[2:]))
        right[self._of_vertex] = loads
        movement: FloatArray = self._factors.solve(right)[self._of_vertex]
        return movement


def largest_step(flat: FloatArray, step: FloatArray, faces: IntArray) -> float:
    """Return how far one may go along a step before the first face loses its area.

    Source: [smith2015] quadratic root per face; infinite where no face does.
    """
    corner, move = flat[faces], step[faces]
    e1, e2 = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    d1, d2 = move[:, 1] - move[:, 0], move[:, 2] - move[:, 0]
    c = e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]
    b = e1[:, 0] * d2[:, 1] - e1[:, 1] * d2[:, 0] + d1[:, 0] * e2[:, 1] - d1[:, 1] * e2[:, 0]
    a = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
    inside = b * b - 4.0 * a * c
    real = inside >= 0.0
    # The smallest positive root, in the form that does not cancel: 2c / (-b + sign root).
    root = np.sqrt(np.where(real, inside, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = 2.0 * c / (-b + root), 2.0 * c / (-b - root)
    candidates = np.stack([one, two])[:, real]
    positive = candidates[np.isfinite(candidates) & (candidates > 0.0)]
    return float(positive.min()) if positive.size else np.inf


@dataclass(eq=False)
class _State:
    flat: FloatArray
    turned: RotatedStretches
    d: Density
    energy: float
    forces: FloatArray  # (n, 2)
    residual: float


def _state(elements: Elements, work: Work, flat: FloatArray) -> _State:
    turned = elements.stretches(flat)
    d = density(work, turned.s)
    per_corner = face_forces(elements, turned, d)
    forces = np.stack([nodal_sum(elements, per_corner[:, :, k]) for k in (0, 1)], axis=1)
    scale = _force_scale(elements, work, per_corner, elements.areas * turned.s.prod(axis=1))
    largest = float(np.linalg.norm(forces, axis=1).max())
    return _State(flat, turned, d, float(elements.areas @ d.value), forces, largest / scale)


def relative_residual(elements: Elements, work: Work, flat_vertices: FloatArray) -> float:
    """Return the largest nodal force left over the larger of two scales; no unit.

    The scales: the largest sum of absolute element forces at a node; 1e-4 times the largest sum
    of weight times gradient of the nodal function. Unchanged by scaling, moving, renumbering.
    """
    return _state(elements, work, flat_vertices).residual


def minimise(
    elements: Elements,
    work: Work,
    start: FloatArray,
    solver: StiffnessSolver,
    *,
    max_iterations: int = MAX_ITERATIONS,
    goal: float = RESIDUAL_GOAL,
    report: Report = silent,
) -> Minimum:
    """Return the least-work layout reached from a start without folded faces.

    Parameters
    ----------
    elements : Elements
    work : Work
    start : (n, 2) float, mm
        Every face counter-clockwise with area.
    solver : StiffnessSolver
    max_iterations : int
    goal : float
        Relative residual at which the layout counts as converged.
    report : Report
    """
    state = _state(elements, work, start)
    first = max(state.residual, goal)
    done = 0.0
    iterations = 0
    while state.residual > goal and iterations < max_iterations:
        if first > goal:
            done = max(done, np.log(first / state.residual) / np.log(first / goal))
        report(float(np.clip(done, 0.0, 1.0)), "finding the least work")
        factors = solver.factorised(stiffness_blocks(elements, state.turned, state.d))
        step = -factors.solve(state.forces)
        following = _line_search(elements, work, state, step)
        iterations += 1
        if following is None:
            break
        state = following
    report(1.0, "finding the least work")
    return Minimum(
        state.flat, state.energy, state.residual, iterations, bool(state.residual <= goal)
    )


def _line_search(elements: Elements, work: Work, state: _State, step: FloatArray) -> _State | None:
    """Return the state after as much of the step as lowers the work enough, or None.

    Near the minimum differences of work are rounding: there a full step that lowers the residual
    is taken.
    """
    slope = float((state.forces * step).sum())
    length = min(1.0, 0.9 * largest_step(state.flat, step, elements.faces))
    rounding = 1e-11 * abs(state.energy) + 1e-18 * float(elements.areas.sum())
    for _ in range(40):
        trial = _trial(elements, work, state.flat + length * step)
        if trial is not None:
            lowered = trial.energy <= state.energy + 1e-4 * length * slope
            if lowered and (-slope * length > rounding):
                return trial
            if -slope * length <= rounding and trial.residual < state.residual:
                return trial
        length *= 0.5
    return None


def _trial(elements: Elements, work: Work, flat: FloatArray) -> _State | None:
    if folded_faces(flat, elements.faces).any():
        return None
    return _state(elements, work, flat)


def folded_faces(flat_vertices: FloatArray, faces: IntArray) -> BoolArray:
    """Return (m,) whether each face is clockwise or has no area on the blank."""
    corner = flat_vertices[faces]
    e1, e2 = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    return np.asarray(~(e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0] > 0.0))

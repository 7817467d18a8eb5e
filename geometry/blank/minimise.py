"""Least work by projected Newton steps that can never fold a face.

Leaves what work is to `work`, what a face answers to `elements`, the whole panel's stiffness to
`stiffness`, and where to begin to `start`.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank.elements import (
    Elements,
    FaceStiffness,
    Strained,
    face_stiffness,
    force_floor,
    largest_step,
    last_digit_force,
    nodal_forces,
)
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.two_levels import TwoLevels
from geometry.blank.work import Density, Work, density
from geometry.progress import Report, silent

RESIDUAL_GOAL = 1e-8
LAST_DIGIT_GOAL = 1e-6
"""Residual up to which what the last digits of the places make is let pass."""

MAX_ITERATIONS = 200
PATIENCE = 40
"""Steps within which the residual has to halve, or the search has stalled."""

CRUSHED = 1e-6
"""Part of a face's least width on the start below which it counts as crushed to nothing."""

NEAR = 1e-3
"""Residual below which the second derivative itself is used, without raising its curvatures."""

MOST_LEFT = 0.03
"""Part of the forces that a step's movement may leave unanswered, at most."""

LEFT_OF_RESIDUAL = 0.15
"""And over the residual: what the step's own straightness leaves is about as much as that."""

ROUNDS = 12
"""Rounds of conjugate gradients on old factors, which cost as much as about one factorisation."""


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
        Newton steps made.
    converged : bool
        Whether the residual is down to the goal, or to what the places' last digits make.
    """

    flat_vertices: FloatArray
    energy: float
    residual: float
    iterations: int
    converged: bool


@dataclass(eq=False)
class _State:
    flat: FloatArray
    strained: Strained
    d: Density
    energy: float
    forces: FloatArray  # (n, 2)
    scale: float
    residual: float


def _state(elements: Elements, work: Work, flat: FloatArray, strained: Strained) -> _State:
    d = density(work, strained.s)
    forces, pulls = nodal_forces(elements, strained, d)
    scale = max(pulls, force_floor(elements, work, strained))
    largest = float(np.sqrt((forces * forces).sum(axis=1).max()))
    energy = float(elements.areas @ d.value)
    return _State(flat, strained, d, energy, forces, scale, largest / scale)


def relative_residual(elements: Elements, work: Work, flat_vertices: FloatArray) -> float:
    """Return the largest nodal force left over the larger of two scales; no unit.

    The scales: the largest sum of absolute element forces at a node; 1e-4 times the largest sum
    of weight times gradient of the nodal function. Unchanged by scaling, moving, renumbering.
    """
    return _state(elements, work, flat_vertices, elements.strained(flat_vertices)).residual


def minimise(
    elements: Elements,
    work: Work,
    start: FloatArray,
    solver: StiffnessSolver,
    *,
    max_iterations: int = MAX_ITERATIONS,
    goal: float = RESIDUAL_GOAL,
    levels: TwoLevels | None = None,
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
    levels : TwoLevels, optional
        The panel's few triangles, by whose help factors can be done without.
    report : Report

    Work weighed by the blank's metal falls to nothing where a face does: a face on that way never
    comes back, so the search ends before it is crushed.
    """
    state = _state(elements, work, start, elements.strained(start))
    crushed = CRUSHED * min(1.0, float(state.strained.s[:, 1].min()))
    descent = _Descent(elements, work, solver, goal, levels)
    first = max(state.residual, goal)
    best, best_at = np.inf, 0
    done = 0.0
    iterations = 0
    while state.residual > goal and iterations < max_iterations:
        if state.residual < best / 2.0:
            best, best_at = state.residual, iterations
        elif iterations - best_at > PATIENCE:
            break
        if first > goal:
            done = max(done, np.log(first / state.residual) / np.log(first / goal))
        report(float(np.clip(done, 0.0, 1.0)), "finding the least work")
        following = descent.after(state)
        iterations += 1
        if following is None or following.strained.s[:, 1].min() < crushed:
            break
        state = following
    report(1.0, "finding the least work")
    settled = state.residual <= goal
    if not settled and state.residual <= LAST_DIGIT_GOAL:
        settled = state.residual * state.scale <= last_digit_force(
            elements, state.strained, state.d, state.flat
        )
    return Minimum(state.flat, state.energy, state.residual, iterations, settled)


class _Descent:
    """Newton steps on one panel: by its few triangles while these serve, else by factors kept."""

    def __init__(
        self,
        elements: Elements,
        work: Work,
        solver: StiffnessSolver,
        goal: float,
        levels: TwoLevels | None,
    ) -> None:
        self._elements, self._work, self._solver, self._goal = elements, work, solver, goal
        self._levels = levels
        solver.kept = None  # what was asked before must not change an answer's last digits

    def after(self, state: _State) -> _State | None:
        """Return the state one step on, or None where no step lowers the work."""
        if state.residual < NEAR:
            step = self._step(state, least=-np.inf)
            if float((state.forces * step).sum()) < 0.0:
                following = _line_search(self._elements, self._work, state, step)
                if following is not None:
                    return following
            self._levels = self._solver.kept = None
        return _line_search(self._elements, self._work, state, self._step(state, least=0.0))

    def _step(self, state: _State, *, least: float) -> FloatArray:
        faces = face_stiffness(self._elements, state.strained, state.d, least=least)
        left = min(MOST_LEFT, LEFT_OF_RESIDUAL * state.residual)
        enough = max(left, 0.1 * self._goal / state.residual)
        step = self._step_by_few(state, faces, enough)
        if step is not None:
            return step
        stiffness = self._solver.assembled(faces)
        kept = self._solver.kept
        if kept is not None:
            step = stiffness.solve_near(-state.forces, kept, tolerance=enough, max_rounds=ROUNDS)
            if step is not None:
                return step
        self._solver.kept = stiffness.factorised()
        return -self._solver.kept.solve(state.forces)

    def _step_by_few(self, state: _State, faces: FaceStiffness, enough: float) -> FloatArray | None:
        """Return the step found with the few triangles' help; without it they are given up."""
        levels = self._levels
        if levels is None:
            return None
        step = None
        if levels.kept is not None:
            step = levels.movement(faces, -state.forces, levels.kept, tolerance=enough)
        if step is None:
            few = levels.kept = levels.factors_of_few(self._work, state.flat)
            if few is not None:
                step = levels.movement(faces, -state.forces, few, tolerance=enough)
        if step is None:
            self._levels = levels.kept = None
        return step


def _line_search(elements: Elements, work: Work, state: _State, step: FloatArray) -> _State | None:
    """Return the state after as much of the step as lowers the work enough, or None.

    Near the minimum differences of work are rounding: there a full step that lowers the residual
    is taken.
    """
    slope = float((state.forces * step).sum())
    length = min(1.0, 0.9 * largest_step(elements, state.flat, step))
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
    """Return the state at a layout, or None where a face is folded or as good as without area."""
    if not (elements.doubled_areas(flat) > 0.0).all():
        return None
    strained = elements.strained(flat)
    if not (strained.s[:, 1] > 0.0).all():  # by its own, other rounding
        return None
    return _state(elements, work, flat, strained)

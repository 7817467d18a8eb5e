"""From where the tank is looked at: its front and top, said or guessed, and the standard views."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from app.job import Directions, JobState, directions_of
from geometry.arrays import FloatArray
from geometry.mesh import TriMesh

_ENOUGH_FACES = 100_000
"""A guess from the shape needs no more: it is made while the window waits."""

Side = Literal["corner", "front", "back", "left", "right", "top", "below"]


@dataclass(frozen=True, eq=False)
class Axes:
    """Unit directions in file coordinates; `guessed` when neither front nor top was said."""

    front: FloatArray
    left: FloatArray
    top: FloatArray
    guessed: bool


def axes_of(state: JobState, mesh: TriMesh) -> Axes:
    """Return the tank's directions: of its datum or as said, and the rest as the shape suggests.

    The top of an open shell is where most of its skin faces; the length lies along its longest
    extent.
    """
    return _axes(mesh, directions_of(state))


@lru_cache(maxsize=4)
def _axes(mesh: TriMesh, directions: Directions) -> Axes:
    front, top = directions.front, directions.top
    shape_top, shape_front = _from_shape(mesh)
    up = _unit(np.array(top)) if top is not None else None
    forward = _unit(np.array(front)) if front is not None else None
    if up is None:
        up = shape_top if forward is None else _across(shape_top, forward)
    forward = _across(shape_front if forward is None else forward, up)
    return Axes(forward, np.cross(up, forward), up, front is None and top is None)


def eye_direction(axes: Axes, side: Side) -> tuple[FloatArray, FloatArray]:
    """Return the direction from the tank to the eye, and what is up on the picture."""
    directions = {
        "corner": _unit(0.62 * axes.front + 0.68 * axes.left + 0.52 * axes.top),
        "front": axes.front,
        "back": -axes.front,
        "left": axes.left,
        "right": -axes.left,
        "top": axes.top,
        "below": -axes.top,
    }
    up = axes.front if side in ("top", "below") else axes.top
    return directions[side], up


def _from_shape(mesh: TriMesh) -> tuple[FloatArray, FloatArray]:
    """Return top and front as the shape suggests; a large scan is asked at some of its faces."""
    faces = mesh.faces[:: 1 + len(mesh.faces) // _ENOUGH_FACES]
    a, b, c = (mesh.vertices[faces[:, k]] for k in range(3))
    vectors = np.cross(b - a, c - a) / 2.0
    areas = np.linalg.norm(vectors, axis=1)
    total = vectors.sum(axis=0)
    centres = (a + b + c) / 3.0
    weights = areas / areas.sum()
    centred = centres - weights @ centres
    _, principal = np.linalg.eigh((centred * weights[:, None]).T @ centred)
    longest, shortest = principal[:, 2], principal[:, 0]
    openness = float(np.linalg.norm(total) / areas.sum())
    top = _unit(total) if openness > 0.05 else shortest
    front = longest if abs(float(longest @ top)) < 0.9 else principal[:, 1]
    front = front if front[int(np.argmax(np.abs(front)))] > 0 else -front
    return top, _across(front, top)


def _across(direction: FloatArray, axis: FloatArray) -> FloatArray:
    """Return the unit part of a direction square to an axis, or anything square to it."""
    part = direction - (direction @ axis) * axis
    if np.linalg.norm(part) < 1e-6:
        part = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    return _unit(part)


def _unit(direction: FloatArray) -> FloatArray:
    return np.asarray(direction / np.linalg.norm(direction), np.float64)

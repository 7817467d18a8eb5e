"""Holes filled over bodies of known shape: how far the guess lies off what was there.

Reference: the bodies' own formulas. A ball of 220 mm, a ball of 120 mm, and the outer and inner
side of a torus (260 mm to the tube's middle, tube 110 mm), scanned 2 mm apart with 0.05 mm of noise
along the normal, a round part 20, 60 or 120 mm across not scanned. The largest and the root mean
square distance of every working vertex of the patch is told, over three noises.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import part_of_mesh, rims
from geometry.surface import working_surface
from tests.geometry.surface.scans import scanned, scattered

NOISE, SPACING = 0.05, 2.0
MIDDLE, TUBE = 260.0, 110.0


@dataclass(frozen=True)
class Body:
    """A skin over places u, v of a plane, about true to length, and how far points lie off it."""

    skin: Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]
    off: Callable[[FloatArray], FloatArray]


def _ball(radius: float) -> Body:
    def skin(u: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray]:
        away = np.maximum(np.hypot(u, v), 1e-9)
        sine = np.sin(away / radius) / away
        normal = np.column_stack([sine * u, sine * v, np.cos(away / radius)])
        return radius * normal, normal

    return Body(skin, lambda points: np.asarray(np.linalg.norm(points, axis=1) - radius))


def _torus(side: float) -> Body:
    """Return the outer (+1) or inner (-1) side: crowned both ways, or one way each."""

    def skin(u: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray]:
        turn, tilt = u / (MIDDLE + side * TUBE), v / TUBE
        way = np.column_stack([np.sin(turn), np.zeros(len(u)), np.cos(turn)])
        normal = side * np.cos(tilt)[:, None] * way
        normal[:, 1] = side * np.sin(tilt)
        points = MIDDLE * way + TUBE * normal
        return points, normal

    def off(points: FloatArray) -> FloatArray:
        ring = np.hypot(points[:, 0], points[:, 2]) - MIDDLE
        return np.asarray(np.hypot(ring, points[:, 1]) - TUBE)

    return Body(skin, off)


BODIES = {
    "ball 220": _ball(220.0),
    "ball 120": _ball(120.0),
    "torus outside": _torus(1.0),
    "torus inside": _torus(-1.0),
}


def off_in_hole(body: Body, across: float, seed: int) -> FloatArray:
    """Return how far the patch over a hole lies off the body at each of its working vertices."""
    width = min(2.2 * across + 40.0, 160.0 if body is BODIES["ball 120"] else 300.0)
    flat, faces = scattered(width, width, SPACING)
    u, v = (flat - width / 2.0).T
    whole = scanned(*body.skin(u, v), faces, NOISE, seed)
    left = np.hypot(u[faces].mean(axis=1), v[faces].mean(axis=1)) > across / 2.0
    scan = part_of_mesh(whole, np.flatnonzero(left))[0]
    surface = working_surface(scan, fill=scan.vertices[rims(scan)[1]].mean(axis=0)[None])
    return body.off(surface.outside[np.unique(surface.mesh.faces[surface.filled])])


MEASURED = [
    ("ball 220", 20.0, 0.05, 0.02),
    ("ball 220", 60.0, 0.07, 0.03),
    ("ball 220", 120.0, 0.12, 0.05),
    ("ball 120", 60.0, 0.08, 0.04),
    ("ball 120", 120.0, 0.17, 0.065),
    ("torus outside", 20.0, 0.06, 0.02),
    ("torus outside", 60.0, 0.08, 0.03),
    ("torus outside", 120.0, 0.11, 0.04),
    ("torus inside", 20.0, 0.05, 0.02),
    ("torus inside", 60.0, 0.08, 0.03),
    ("torus inside", 120.0, 0.31, 0.145),
]
"""Body, mm across, and within what the largest and the root mean square lie: as measured, and a
tenth to a fifth of it for other rounding."""


@pytest.mark.slow
@pytest.mark.parametrize(("name", "across", "largest", "mean"), MEASURED)
def test_a_patch_lies_on_the_body_that_was_there(
    name: str, across: float, largest: float, mean: float
) -> None:
    for seed in (12, 13, 14):
        off = off_in_hole(BODIES[name], across, seed)
        assert np.abs(off).max() < largest
        assert np.sqrt((off**2).mean()) < mean


def test_a_wide_hole_in_a_ball_takes_the_ball_s_own_crown() -> None:
    """Least bending alone would lie 0.5 mm under it; a twentieth of that is the noise's."""
    off = off_in_hole(BODIES["ball 120"], 120.0, 12)
    assert abs(off.mean()) < 0.04
    assert np.abs(off).max() < 0.1

"""Least-squares fits to points: quadrics in bulk, planes, circles, cylinders, parabolas along."""

from geometry.fitting.circle import Circle, fit_circle
from geometry.fitting.cylinder import Cylinder, fit_cylinder
from geometry.fitting.plane import Plane, TooFewPointsError, fit_plane
from geometry.fitting.quadric import Quadrics, fit_quadric, fit_quadrics, frames_of_normals
from geometry.fitting.running_parabola import running_parabolas

__all__ = [
    "Circle",
    "Cylinder",
    "Plane",
    "Quadrics",
    "TooFewPointsError",
    "fit_circle",
    "fit_cylinder",
    "fit_plane",
    "fit_quadric",
    "fit_quadrics",
    "frames_of_normals",
    "running_parabolas",
]

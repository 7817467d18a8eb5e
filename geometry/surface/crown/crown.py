"""The crown of a skin: calm normals, sweeps both ways and kinds, on a scale set by the noise."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import TriMesh, face_areas, typical_edge_length
from geometry.progress import Report, part_of, silent
from geometry.scan import scan_noise
from geometry.surface.crown.bends import bends_at
from geometry.surface.crown.kinds import USUAL_LIMITS, CrownLimits, crown_kinds, sweeps
from geometry.surface.crown.spread import AtVertices, at_vertices, principal
from geometry.surface.crown.stations import area_vectors, stations_of

_LEAST_EDGES = 3.0
_CELLS_IN_REACH, _CELLS_FOR_LIGHTS = 3.4, 2.7
_WORTH_POOLING = 1.3
_LARGEST_SHARE = 0.08
_CURVE_NOISE, _TILT_NOISE = 15.0, 3.7
_LIGHT_TILT_RAD = 0.003


@dataclass(frozen=True, eq=False)
class Crown:
    """How a skin bulges at every vertex of its mesh.

    Attributes
    ----------
    normals : (n, 3) float
        Unit, calm: of the skin fitted over the reach.
    curvatures : (n, 2) float, 1/mm
        Principal, larger first; positive bulges out.
    directions : (n, 2, 3) float
        Along which; unit, within the skin. Any two where both curvatures are alike.
    kind : (n,) int
        `CrownKind`.
    sweep_mm : (n, 2) float
        Radii of the sweeps along the directions, below nothing where hollow, infinite where
        straight.
    standard_error : (n,) float, 1/mm
        Of a curvature, by noise without neighbours' likeness; what a scanner gets wrong over a
        wider place is not in it.
    determined : (n,) bool
        Whether there were points enough all round, and the standard error is below the curvature
        of the longest sweep that counts.
    reach_mm : float
        How far the points around a place counted.
    """

    normals: FloatArray
    curvatures: FloatArray
    directions: FloatArray
    kind: IntArray
    sweep_mm: FloatArray
    standard_error: FloatArray
    determined: BoolArray
    reach_mm: float


@dataclass(frozen=True, eq=False)
class CalmNormals:
    """Normals to judge reflections by.

    Attributes
    ----------
    normals : (n, 3) float
        Unit.
    standard_error : (n,) float, rad
        By noise.
    reach_mm : float
        How far the points around a place counted: a flat or a low half as wide is smoothed away,
        one twice as wide is seen in full.
    """

    normals: FloatArray
    standard_error: FloatArray
    reach_mm: float


def crown_of(
    mesh: TriMesh,
    *,
    reach_mm: float | None = None,
    limits: CrownLimits = USUAL_LIMITS,
    report: Report = silent,
) -> Crown:
    """Return the crown of a skin.

    Parameters
    ----------
    mesh : TriMesh
        Oriented outward, mm: a scan, its light stand-in or the working surface.
    reach_mm : float, optional
        How far points count. If left, as far as it takes for noise to blur a curvature by half of
        that of the longest sweep that counts; three edges at least, a twelfth of the mesh at most.
    limits : CrownLimits

    Source: own derivation: quadrics over stations, see `bends_at`.
    """
    noise = scan_noise(mesh, report=part_of(report, 0.0, 0.15))
    if reach_mm is None:
        reach_mm = _reach_for_crown(mesh, noise, 0.5 / limits.flat_sweep_mm)
    found = _measured(mesh, reach_mm, noise, part_of(report, 0.15, 1.0))
    curvatures, directions = principal(found.bend, found.normals)
    told = found.standard_error < 1.0 / limits.flat_sweep_mm
    report(1.0, "measure the crown")
    return Crown(
        normals=locked(found.normals),
        curvatures=locked(curvatures),
        directions=locked(directions),
        kind=locked(crown_kinds(curvatures, limits)),
        sweep_mm=locked(sweeps(curvatures)),
        standard_error=locked(found.standard_error),
        determined=locked(found.determined & told),
        reach_mm=float(reach_mm),
    )


def calm_normals(
    mesh: TriMesh, *, reach_mm: float | None = None, report: Report = silent
) -> CalmNormals:
    """Return normals calm enough to judge reflections by.

    Parameters
    ----------
    mesh : TriMesh
        Oriented outward, mm.
    reach_mm : float, optional
        How far points count. If left, as far as it takes for noise to tilt a normal by 0.003 rad,
        a twelfth of what a flat of 0.2 mm on a sweep of 300 mm turns it by at its edge; three edges
        at least.
    """
    noise = scan_noise(mesh, report=part_of(report, 0.0, 0.15))
    if reach_mm is None:
        reach_mm = _reach_for_lights(mesh, noise)
    cells = _CELLS_FOR_LIGHTS
    found = _measured(mesh, reach_mm, noise, part_of(report, 0.15, 1.0), cells)
    return CalmNormals(locked(found.normals), locked(found.normal_error), float(reach_mm))


def _measured(
    mesh: TriMesh,
    reach_mm: float,
    noise_mm: float,
    report: Report,
    cells_in_reach: float = _CELLS_IN_REACH,
) -> AtVertices:
    vectors = area_vectors(mesh)
    cell = reach_mm / cells_in_reach
    if cell < _WORTH_POOLING * typical_edge_length(mesh):
        cell = 0.0
    stations = stations_of(mesh.vertices, vectors, cell)
    bends = bends_at(stations, reach_mm, noise_mm, report=part_of(report, 0.05, 0.8))
    if cell > 0.0:
        return at_vertices(bends, mesh.vertices, vectors)
    return AtVertices(
        bends.normals, bends.bend, bends.standard_error, bends.normal_error, bends.determined
    )


def _reach_for_crown(mesh: TriMesh, noise_mm: float, error_per_mm: float) -> float:
    """Return the reach R at which noise s blurs curvature by e: 15 s / (sqrt(pi d) R^3) = e.

    d is the vertices' density; 15 is measured on even points with the fits' weights.
    """
    crowd = np.sqrt(np.pi * _density(mesh))
    return _within(mesh, float(np.cbrt(_CURVE_NOISE * noise_mm / (crowd * error_per_mm))))


def _reach_for_lights(mesh: TriMesh, noise_mm: float) -> float:
    """Return the reach R at which noise s tilts normals by t: 3.7 s / (sqrt(pi d) R^2) = t."""
    crowd = np.sqrt(np.pi * _density(mesh))
    return _within(mesh, float(np.sqrt(_TILT_NOISE * noise_mm / (crowd * _LIGHT_TILT_RAD))))


def _density(mesh: TriMesh) -> float:
    return len(mesh.vertices) / float(face_areas(mesh.vertices, mesh.faces).sum())


def _within(mesh: TriMesh, reach_mm: float) -> float:
    most = _LARGEST_SHARE * float(np.linalg.norm(np.ptp(mesh.vertices, axis=0)))
    return max(min(reach_mm, most), _LEAST_EDGES * typical_edge_length(mesh))

"""A frame tube that was scanned: the straight round one nearest to its points."""

import numpy as np

from geometry.datum import point3
from geometry.errors import GeometryError
from geometry.fitting import TooFewPointsError, fit_cylinder
from geometry.mesh import TriMesh, vertex_normals
from geometry.tank.tunnel_spec import RoundBody, ScannedTube

MOST_SCATTER = 0.1
"""Of its radius: what lies further off a round tube is no tube. Common practice, no source."""

_LEAST_SHARE = 0.02
"""Across, of the tank's length: 11 mm under one of 560. Common practice, no source."""

_MOST_POINTS = 20_000


class NotATubeError(GeometryError):
    """What was scanned is not one round, straight tube.

    Attributes
    ----------
    scatter_mm : float
        Root mean square of the points off the nearest tube; infinite where none goes through them.
    radius_mm : float
    """

    def __init__(self, scatter_mm: float, radius_mm: float) -> None:
        self.scatter_mm, self.radius_mm = scatter_mm, radius_mm
        super().__init__(f"points lie {scatter_mm:g} mm off a tube of radius {radius_mm:g}")


class ScannedTubeSizeError(GeometryError):
    """A scanned tube is too thin for a frame under such a tank: most likely in another unit.

    Attributes
    ----------
    diameter_mm, tank_mm : float
        Across it, and how long the tank is.
    """

    def __init__(self, diameter_mm: float, tank_mm: float) -> None:
        self.diameter_mm, self.tank_mm = diameter_mm, tank_mm
        super().__init__(f"a tube of {diameter_mm:g} mm under a tank of {tank_mm:g}")


def check_scanned_size(tube: RoundBody, skin: TriMesh) -> None:
    """Refuse a scanned tube far thinner than any that carries such a tank.

    Raises
    ------
    ScannedTubeSizeError
    """
    long = float(np.ptp(skin.vertices[np.unique(skin.faces)][:, 0]))
    if tube.diameter_mm < _LEAST_SHARE * long:
        raise ScannedTubeSizeError(tube.diameter_mm, long)


def tube_from_scan(mesh: TriMesh, file_name: str) -> ScannedTube:
    """Return the straight round tube nearest to a scanned piece, in the piece's own axes and unit.

    Parameters
    ----------
    mesh : TriMesh
        mm: what is refused is told in mm.
    file_name : str

    Raises
    ------
    NotATubeError
    """
    used = np.unique(mesh.faces)
    if len(used):
        used = used[:: 1 + len(used) // _MOST_POINTS]
    try:
        found = fit_cylinder(mesh.vertices[used], vertex_normals(mesh.vertices, mesh.faces)[used])
    except TooFewPointsError:
        raise NotATubeError(float("inf"), 0.0) from None
    if not found.residual_rms < MOST_SCATTER * found.radius:
        raise NotATubeError(found.residual_rms, found.radius)
    return ScannedTube(
        file_name,
        point3(found.start),
        point3(found.end),
        2.0 * found.radius,
        found.residual_rms,
    )

"""How far a flat face stands off its plane, the noise taken off and its edges kept to itself."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, typical_edge_length
from geometry.surface.crown import area_vectors, bends_at, stations_of

_ERROR_MM = 0.01
_NO_NOISE_MM = 0.005
_USUAL_REACH_MM = 20.0
_HEIGHT_NOISE = 3.0
_LARGEST_SHARE = 0.3
_CELLS_IN_REACH = 3.4
_MIXED = 5


def calm_heights(
    piece: TriMesh, point: FloatArray, normal: FloatArray, noise_mm: float, width_mm: float
) -> FloatArray:
    """Return (n,) heights over a plane of a piece's vertices, noise taken off.

    Over a reach of 20 mm, or more where noise would still move a height by 0.01 mm in the middle of
    the piece; three tenths of its width at most, and as near as the points allow where there is no
    noise to speak of. Scanners err in slow waves too: what is narrower than the reach is shown
    lower than it is. Nothing beyond the piece counts.
    """
    spacing = typical_edge_length(piece)
    density = 2.0 / (np.sqrt(3.0) * spacing**2)
    reach = float(np.sqrt((_HEIGHT_NOISE * noise_mm / _ERROR_MM) ** 2 / (np.pi * density)))
    if noise_mm > _NO_NOISE_MM:
        reach = max(reach, _USUAL_REACH_MM)
    reach = max(min(reach, _LARGEST_SHARE * width_mm), 3.0 * spacing)
    cell = reach / _CELLS_IN_REACH
    stations = stations_of(piece.vertices, area_vectors(piece), cell if cell > spacing else 0.0)
    bends = bends_at(stations, reach, noise_mm)
    height = (bends.places - point) @ normal
    slope = normal - bends.normals  # change of height along ways in the plane, small angles
    width = min(_MIXED, len(height))
    distance, index = (
        np.asarray(found).reshape(len(piece.vertices), -1)
        for found in cKDTree(bends.places).query(piece.vertices, k=width)
    )
    share = (1.0 - (distance / (1.02 * distance[:, -1:] + 1e-9)) ** 2) ** 2 + 1e-6
    share *= np.where(bends.determined[index], 1.0, 1e-3)
    away = piece.vertices[:, None] - bends.places[index]
    away -= (away @ normal)[..., None] * normal
    told = height[index] + (slope[index] * away).sum(axis=2)
    return np.asarray((share * told).sum(axis=1) / share.sum(axis=1))

"""Crown: how a skin bulges, high, low or reverse, with sweep radii and normals free of noise."""

from geometry.surface.crown.bends import Bends, bends_at
from geometry.surface.crown.crown import CalmNormals, Crown, calm_normals, crown_of
from geometry.surface.crown.kinds import (
    USUAL_LIMITS,
    CrownKind,
    CrownLimits,
    crown_kinds,
    sweeps,
)
from geometry.surface.crown.stations import Stations, area_vectors, stations_of

__all__ = [
    "USUAL_LIMITS",
    "Bends",
    "CalmNormals",
    "Crown",
    "CrownKind",
    "CrownLimits",
    "Stations",
    "area_vectors",
    "bends_at",
    "calm_normals",
    "crown_kinds",
    "crown_of",
    "stations_of",
    "sweeps",
]

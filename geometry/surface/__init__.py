"""The working surface: scan noise out, triangles even, holes closed, middle of the metal."""

from geometry.surface.fill import filled_openings
from geometry.surface.opening import Opening, opening_within

__all__ = ["Opening", "filled_openings", "opening_within"]

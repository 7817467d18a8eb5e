"""The working surface: scan noise out, triangles even, holes closed, middle of the metal."""

from geometry.surface.character import CharacterLine, character_lines
from geometry.surface.difference import Difference
from geometry.surface.fill import filled_openings
from geometry.surface.holes_chosen import NoHoleNearError, hole_fates
from geometry.surface.locked import LineOffSurfaceError, LineTooShortError
from geometry.surface.offset import offset_inward
from geometry.surface.opening import Opening, opening_within
from geometry.surface.remesh import Remeshed, remeshed
from geometry.surface.sag import sag_between_points
from geometry.surface.working import WorkingSurface, working_surface

__all__ = [
    "CharacterLine",
    "Difference",
    "LineOffSurfaceError",
    "LineTooShortError",
    "NoHoleNearError",
    "Opening",
    "Remeshed",
    "WorkingSurface",
    "character_lines",
    "filled_openings",
    "hole_fates",
    "offset_inward",
    "opening_within",
    "remeshed",
    "sag_between_points",
    "working_surface",
]

"""The working surface: scan noise out, triangles even, holes closed, middle of the metal."""

from geometry.surface.character import (
    CharacterLine,
    character_lines,
    extended_line,
    joined_lines,
    line_along,
    snapped_line,
)
from geometry.surface.coarse import COARSE_MM, CoarseSurface, coarsened
from geometry.surface.crown import (
    CalmNormals,
    Crown,
    CrownKind,
    CrownLimits,
    calm_normals,
    crown_kinds,
    crown_of,
)
from geometry.surface.difference import Difference
from geometry.surface.fill import filled_openings
from geometry.surface.flats import FlatFace, flat_faces
from geometry.surface.highlights import LIT_SHARE, LightTubes, highlights, is_lit
from geometry.surface.holes_chosen import NoHoleNearError, hole_fates
from geometry.surface.locked import LineOffSurfaceError, LineTooShortError
from geometry.surface.offset import offset_inward
from geometry.surface.opening import Opening, opening_within
from geometry.surface.remesh import Remeshed, remeshed
from geometry.surface.sag import sag_of_bend, sharpest_bend
from geometry.surface.working import WorkingSurface, working_surface

__all__ = [
    "COARSE_MM",
    "LIT_SHARE",
    "CalmNormals",
    "CharacterLine",
    "CoarseSurface",
    "Crown",
    "CrownKind",
    "CrownLimits",
    "Difference",
    "FlatFace",
    "LightTubes",
    "LineOffSurfaceError",
    "LineTooShortError",
    "NoHoleNearError",
    "Opening",
    "Remeshed",
    "WorkingSurface",
    "calm_normals",
    "character_lines",
    "coarsened",
    "crown_kinds",
    "crown_of",
    "extended_line",
    "filled_openings",
    "flat_faces",
    "highlights",
    "hole_fates",
    "is_lit",
    "joined_lines",
    "line_along",
    "offset_inward",
    "opening_within",
    "remeshed",
    "sag_of_bend",
    "sharpest_bend",
    "snapped_line",
    "working_surface",
]

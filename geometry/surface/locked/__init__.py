"""Lines the maker locked: led over the scan, their sections fitted, held as edges of triangles."""

from geometry.surface.locked.crest import Crest, crest_of
from geometry.surface.locked.held import (
    Lined,
    is_closed,
    kinds_and_runs,
    lines_on,
    over_surface,
    with_line,
)
from geometry.surface.locked.sides import Sides, near_crests
from geometry.surface.locked.wrong_line import (
    LineOffSurfaceError,
    LineTooShortError,
    LockedLineError,
)

__all__ = [
    "Crest",
    "LineOffSurfaceError",
    "LineTooShortError",
    "Lined",
    "LockedLineError",
    "Sides",
    "crest_of",
    "is_closed",
    "kinds_and_runs",
    "lines_on",
    "near_crests",
    "over_surface",
    "with_line",
]

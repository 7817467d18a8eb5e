"""Lines the maker locked: led over the scan, their sections fitted, held as edges of triangles."""

from geometry.surface.locked.course import (
    Course,
    beside,
    course_along,
    direction_at,
    moved,
    smoothed_along,
)
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
    "Course",
    "Crest",
    "LineOffSurfaceError",
    "LineTooShortError",
    "Lined",
    "LockedLineError",
    "Sides",
    "beside",
    "course_along",
    "crest_of",
    "direction_at",
    "is_closed",
    "kinds_and_runs",
    "lines_on",
    "moved",
    "near_crests",
    "over_surface",
    "smoothed_along",
    "with_line",
]

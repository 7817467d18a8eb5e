"""Character lines: ridges and valleys of a noisy scan, found, measured, drawn."""

from geometry.surface.character.drawn import (
    LinesOn,
    extended_line,
    joined_lines,
    line_along,
    snapped_line,
)
from geometry.surface.character.find import character_lines
from geometry.surface.character.line import CharacterLine

__all__ = [
    "CharacterLine",
    "LinesOn",
    "character_lines",
    "extended_line",
    "joined_lines",
    "line_along",
    "snapped_line",
]

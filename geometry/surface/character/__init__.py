"""Character lines: ridges and valleys of a noisy scan, found, measured, drawn."""

from geometry.surface.character.find import character_lines
from geometry.surface.character.line import CharacterLine

__all__ = ["CharacterLine", "character_lines"]

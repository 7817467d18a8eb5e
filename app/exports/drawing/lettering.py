"""The one font on paper: its files, whether it has a character, how wide a line of text comes."""

import unicodedata
from functools import cache, lru_cache
from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFont

FOLDER = Path(__file__).parents[2] / "fonts"

PLAIN = "LowcrownPlain"
BOLD = "LowcrownBold"
_FILES = {PLAIN: "DejaVuSansCondensed.ttf", BOLD: "DejaVuSansCondensed-Bold.ttf"}

CAPITAL_HEIGHT = 0.729
"""Height of a capital over the size of the font; text on our pages is sized by its capitals."""

_UNKNOWN = "\u25a1"

_TEXTS_KEPT = 8192
"""The same words stand on page after page: what was worked out of so many texts is kept."""


@cache
def font(name: str) -> TTFont:
    """Return a font by our name for it."""
    return TTFont(name, str(FOLDER / _FILES[name]))


@lru_cache(maxsize=_TEXTS_KEPT)
def printable(text: str) -> str:
    """Return text with each character the font lacks as an open box, so that none vanishes.

    Signs that only steer how others are set (way of writing, joining, soft hyphen) are left out:
    on paper they show nothing, and what they turn round would read as another name.

    >>> printable("R 3 1/2 \u00b1 \u00d8"), printable("tank \u6f22 2")
    ('R 3 1/2 \u00b1 \u00d8', 'tank \u25a1 2')
    >>> printable("left\u202e side\u200b")
    'left side'
    """
    glyphs = font(PLAIN).face.charToGlyph
    shown = (character for character in text if unicodedata.category(character) != "Cf")
    spaced = "".join(" " if character.isspace() else character for character in shown)
    return "".join(character if ord(character) in glyphs else _UNKNOWN for character in spaced)


def text_width(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Return the width of a line of text in mm, its capitals the given height."""
    return _width_at_size_one(text, bold) * height_mm / CAPITAL_HEIGHT


@lru_cache(maxsize=_TEXTS_KEPT)
def _width_at_size_one(text: str, bold: bool) -> float:
    return float(font(BOLD if bold else PLAIN).stringWidth(printable(text), 1.0))


def wrapped(text: str, width_mm: float, height_mm: float, *, bold: bool = False) -> list[str]:
    """Return text broken into lines no wider than asked; a word too long is broken too."""
    return list(_wrapped(text, width_mm, height_mm, bold))


@lru_cache(maxsize=_TEXTS_KEPT)
def _wrapped(text: str, width_mm: float, height_mm: float, bold: bool) -> tuple[str, ...]:
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if text_width(longer, height_mm, bold=bold) <= width_mm:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, height_mm, bold=bold) > width_mm and len(line) > 1:
            fits = next(
                count
                for count in range(len(line) - 1, 0, -1)
                if count == 1 or text_width(line[:count], height_mm, bold=bold) <= width_mm
            )
            lines.append(line[:fits])
            line = line[fits:]
    return (*lines, line) if line else tuple(lines)


def fitted(words: str, width_mm: float, height_mm: float) -> str:
    """Return words cut short with dots where they would run past a width."""
    if text_width(words, height_mm, bold=True) <= width_mm:
        return words
    while words and text_width(words + "...", height_mm, bold=True) > width_mm:
        words = words[:-1]
    return words.rstrip() + "..."

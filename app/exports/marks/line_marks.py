"""Lines of the tank carried to the blank: its character lines, and where its centre plane cuts."""

from collections.abc import Callable

from app.exports.drawing import FreeSpace, Line, Meaning, Told, Wording, words_beside
from app.exports.facts import PanelSheet
from geometry.arrays import FloatArray
from geometry.polyline import line_length

CHARACTER_LINE = "character line"
CENTRE_LINE = "centre line of the tank"
_TEXT_MM = 2.5
_LEAST_MM = 20.0
"""Shorter lines are drawn without their name: the legend has it."""

OnPaper = Callable[[FloatArray], FloatArray]


def tank_lines(sheet: PanelSheet, on_paper: OnPaper) -> list[Line]:
    """Return character lines and centre lines as they are drawn."""
    pattern = sheet.pattern
    return [
        *(Line(Meaning.CHARACTER, on_paper(line)) for line in pattern.character_lines),
        *(Line(Meaning.TANK_CENTRE, on_paper(line)) for line in pattern.centre_lines),
    ]


def tank_line_texts(sheet: PanelSheet, space: FreeSpace, on_paper: OnPaper) -> Told:
    """Return the name of every line that is long enough, beside it."""
    told = Told()
    for lines, words in (
        (sheet.pattern.character_lines, CHARACTER_LINE),
        (sheet.pattern.centre_lines, CENTRE_LINE),
    ):
        for line in lines:
            points = on_paper(line)
            if line_length(points) >= _LEAST_MM:
                told += words_beside(space, points, [Wording(words, _TEXT_MM)])
    return told

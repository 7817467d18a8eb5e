"""A reading of a grid square as it is typed: "C4 26 25.5 24.5 24 / 36 35"."""

import re

from app.units import NotALengthError, parse_length
from geometry.pattern import SquareReading


class ReadingWordsError(ValueError):
    """Words that are no reading of a square.

    Attributes
    ----------
    words : str
    reason : str
        What is wrong with them, in a sentence's second half.
    """

    def __init__(self, words: str, reason: str) -> None:
        self.words, self.reason = words, reason
        super().__init__(f"{words!r} is no reading: {reason}")


def lengths_typed(text: str, unit: str) -> tuple[float, ...]:
    """Return lengths typed side by side, mm; fractions belong to the whole number before them.

    >>> lengths_typed("26 25.5", "mm"), lengths_typed("", "mm")
    ((26.0, 25.5), ())
    >>> lengths_typed("1 1/16 1 1/32", "in")
    (26.9875, 26.19375)

    Raises
    ------
    NotALengthError
    """
    parts = re.findall(r"\d+\s+\d+/\d+|\S+", text.strip())
    return tuple(parse_length(part, unit) for part in parts)


def reading_typed(words: str, unit: str) -> SquareReading:
    """Return a reading: the square, one or two lengths each way, and after " / " both diagonals.

    >>> reading_typed("c4 26 25.5 24.5 24 / 36 35", "mm").every_mm
    (26.0, 25.5, 24.5, 24.0, 36.0, 35.0)
    >>> reading_typed("B2 1 1/16 1", "in").across_mm
    (25.4,)

    Raises
    ------
    ReadingWordsError
    """
    square, _, rest = words.strip().partition(" ")
    sides_text, slash, diagonals_text = f"{rest} ".partition(" / ")
    try:
        sides = lengths_typed(sides_text, unit)
        diagonals = lengths_typed(diagonals_text, unit)
    except NotALengthError as error:
        raise ReadingWordsError(words, error.reason) from None
    if len(sides) not in (2, 4):
        raise ReadingWordsError(
            words, "after the square stand one length each way, or two along its row and two along "
            "its column",
        )  # fmt: skip
    if len(diagonals) != (2 if slash else 0):
        raise ReadingWordsError(words, 'after " / " stand both diagonals, or nothing at all')
    half = len(sides) // 2
    return SquareReading(
        square.upper(), sides[:half], sides[half:],
        (diagonals[0], diagonals[1]) if diagonals else None,
    )  # fmt: skip

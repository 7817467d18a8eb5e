"""Words that find no room on the blank: a number stands in their place, the words in a list."""

from app.exports.drawing import FreeSpace, Told, Wording, words_beside
from geometry.arrays import FloatArray

KEY_MM = 2.5
_OFF_MM = (1.2, 2.5, 4.0, 6.0, 9.0, 13.0)


NUMBERED_HEAD = "No room on the blank; its number there:"
NOT_DRAWN_HEAD = "Not drawn on the blank:"


class Listing:
    """Rows in the order they were numbered; a row without a number says itself where it belongs."""

    def __init__(self) -> None:
        self._numbered: list[str] = []
        self._not_drawn: list[str] = []

    @property
    def rows(self) -> tuple[str, ...]:
        """The rows as they stand beside the pattern: numbered ones, then others, heads above."""
        heads = (NUMBERED_HEAD, self._numbered), (NOT_DRAWN_HEAD, self._not_drawn)
        return tuple(row for head, rows in heads if rows for row in (head, *rows))

    def beside_line(
        self,
        space: FreeSpace,
        points: FloatArray,
        words: str,
        *,
        around: tuple[float, float] | None = None,
        sides: tuple[float, ...] = (1.0, -1.0),
    ) -> Told:
        """Return a number beside a part of a line, where there is room, and list its words."""
        key = [Wording(self._next_key, KEY_MM)]
        told = words_beside(
            space, points, key, around=around, sides=sides, off_mm=_OFF_MM, bold=True
        )
        self._add(words, numbered=bool(told))
        return told

    def add(self, words: str) -> None:
        """List words without a number."""
        self._add(words, numbered=False)

    @property
    def _next_key(self) -> str:
        return f"({len(self._numbered) + 1})"

    def _add(self, words: str, *, numbered: bool) -> None:
        if numbered:
            self._numbered.append(f"{self._next_key} {words}")
        else:
            self._not_drawn.append(words)

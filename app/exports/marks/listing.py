"""Words that find no room on the blank: a number stands in their place, the words in a list."""

from app.exports.drawing import FreeSpace, Told, Wording, words_beside
from geometry.arrays import FloatArray

KEY_MM = 2.5
_OFF_MM = (1.2, 2.5, 4.0, 6.0, 9.0, 13.0)


class Listing:
    """Rows in the order they were numbered; a row without a number says itself where it belongs."""

    def __init__(self) -> None:
        self._rows: list[str] = []
        self._count = 0

    @property
    def rows(self) -> tuple[str, ...]:
        """The rows, as they stand beside the pattern."""
        return tuple(self._rows)

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
        return f"({self._count + 1})"

    def _add(self, words: str, *, numbered: bool) -> None:
        self._rows.append(f"{self._next_key} {words}" if numbered else words)
        self._count += numbered

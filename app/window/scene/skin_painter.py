"""What a way to look at the tank needs of its painter; and which painter each way has.

A way to look (`app.window.skins`) draws the skin in its own colours instead of plain metal. To
add one: a painter of its own, a row in `SKIN_PAINTERS`, and a row of the same key in
`app.window.skins.SKINS`.
"""

from typing import Any, Protocol

from app.window.scene.painters import Painter
from geometry.arrays import FloatArray, IntArray


class PaintedSkin(Protocol):
    """What is drawn of the skin, file coordinates; the pointer is found on these faces too."""

    @property
    def vertices(self) -> FloatArray:
        """(n, 3) float."""
        ...

    @property
    def faces(self) -> IntArray:
        """(m, 3) int."""
        ...


class SkinPainter(Painter):
    """Draws the skin one way."""

    def draw(self, painted: Any) -> None:
        """Draw a skin; the same object again does nothing."""
        raise NotImplementedError

    def turned(self) -> None:
        """Follow the eye, where what is drawn hangs on it: the view was turned."""


SKIN_PAINTERS: dict[str, type[SkinPainter]] = {}
"""By the way's key. The plain way has none: it is the scan or the surface as it is."""

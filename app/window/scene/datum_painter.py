"""Where the tank stands: its centre plane, and which way FRONT, TOP and LEFT are."""

from dataclasses import dataclass

import numpy as np
import pyvista as pv

from app.window.look import ACCENT, INK
from app.window.scene.painters import Painter, lines
from geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class PaintedDatum:
    """A datum as it is drawn, file coordinates.

    Attributes
    ----------
    middle : (3,) float
        Of the tank, on the centre plane.
    front, left, top : (3,) float
        Unit.
    ahead, behind, above, below, beside : float
        How far the tank reaches from the middle each way; `beside` to both hands.
    trace : tuple of (k, 3)
        Where the centre plane meets the skin.
    """

    middle: FloatArray
    front: FloatArray
    left: FloatArray
    top: FloatArray
    ahead: float
    behind: float
    above: float
    below: float
    beside: float
    trace: tuple[FloatArray, ...] = ()


class DatumPainter(Painter):
    """Draws the plane as a pane of glass, its trace on the skin, and three arrows with words."""

    def draw(self, datum: PaintedDatum | None) -> None:
        """Draw a datum, or none."""
        if self.is_drawn(datum) or datum is None:
            return
        room = 0.06 * (datum.ahead + datum.behind)
        low, high = -(datum.behind + room), datum.ahead + room
        under, over = -(datum.below + room), datum.above + room
        corners = np.stack(
            [
                datum.middle + along * datum.front + up * datum.top
                for along, up in ((low, under), (high, under), (high, over), (low, over))
            ]
        )
        pane = pv.PolyData(corners, faces=[4, 0, 1, 2, 3])
        self.add(pane, color=ACCENT, opacity=0.16, lighting=False)
        self.add(lines([np.concatenate([corners, corners[:1]])]), color=ACCENT, line_width=1.5,
                 lighting=False)  # fmt: skip
        if datum.trace:
            self.add(lines(list(datum.trace)), color=ACCENT, line_width=3.5, lighting=False)
        size = 0.11 * (datum.ahead + datum.behind)
        for words, way, reach in (
            ("FRONT", datum.front, datum.ahead),
            ("TOP", datum.top, datum.above),
            ("LEFT", datum.left, datum.beside),
        ):
            tip = datum.middle + way * (reach + 1.15 * size)
            self.add(lines([np.stack([datum.middle + way * reach, tip])]), color=INK,
                     line_width=4, lighting=False)  # fmt: skip
            head = pv.Cone(
                center=tip, direction=way, height=0.28 * size, radius=0.09 * size, resolution=24
            )
            self.add(head, color=INK, lighting=False)
            self.add_words(tip + 0.55 * size * way, words, bold=True)

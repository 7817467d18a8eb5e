"""Marks on the sheet beside the map of change: where a blank lies over itself."""

from collections.abc import Iterable

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QTransform

from app.job import TOO_LITTLE_OVERLAP_MM2
from app.window.look import ASK, ASK_TINT
from geometry.blank import FlatPanel

_RING_PX = 13.0
_APART_PX = 8.0
_PADDING_PX = 5.0


class SheetMarks:
    """Draws marks with words; no words lie on others, or beyond the view.

    Parameters
    ----------
    painter : QPainter
    to_picture : QTransform
        From u, v seen from outside to points of the view.
    """

    def __init__(self, painter: QPainter, to_picture: QTransform) -> None:
        self._painter, self._to_picture = painter, to_picture
        ratio = painter.device().devicePixelRatioF()
        self._view = QRectF(
            0.0, 0.0, painter.device().width() / ratio, painter.device().height() / ratio
        )
        self._taken: list[QRectF] = []

    def overlap(self, flat: FlatPanel) -> None:
        """Draw a ring and a cross where a blank lies over itself, with the words."""
        if flat.overlap_area <= TOO_LITTLE_OVERLAP_MM2 or not np.isfinite(flat.overlap_place).all():
            return
        at = self._to_picture.map(QPointF(*flat.overlap_place))
        painter = self._painter
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((QColor("white"), 6.0), (QColor(ASK), 2.6)):
            painter.setPen(QPen(colour, width))
            painter.drawEllipse(at, _RING_PX, _RING_PX)
            for way in (QPointF(6.0, 6.0), QPointF(6.0, -6.0)):
                painter.drawLine(at - way, at + way)
        self.say("LIES OVER ITSELF", self._beside(at), must=True)

    def _beside(self, at: QPointF) -> tuple[QPointF, ...]:
        off = _RING_PX + _APART_PX + 6.0
        return tuple(at + QPointF(0.0, way * off) for way in (-1.0, 1.0, -2.0, 2.0))

    def say(
        self, words: str, places: Iterable[QPointF], *, must: bool = False, colour: str = ASK
    ) -> bool:
        """Write words about the first of some places where there is room; return whether done.

        Words that must be said are written at the first place where there is none.
        """
        boxes = [self._box(words, place) for place in places]
        free = next((box for box in boxes if not any(box.intersects(t) for t in self._taken)), None)
        if free is None and not (must and boxes):
            return False
        box = boxes[0] if free is None else free
        self._taken.append(box)
        painter = self._painter
        painter.fillRect(box, QColor(ASK_TINT) if colour == ASK else QColor(251, 250, 246, 225))
        painter.setPen(QColor(colour))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)
        return True

    def _box(self, words: str, middle: QPointF) -> QRectF:
        """Return the room words take about a place, moved into the view."""
        metrics = self._painter.fontMetrics()
        width = metrics.horizontalAdvance(words) + 2.0 * _PADDING_PX
        height = metrics.height() + 2.0
        left = min(max(middle.x() - width / 2.0, 2.0), max(2.0, self._view.width() - width - 2.0))
        top = min(max(middle.y() - height / 2.0, 2.0), max(2.0, self._view.height() - height - 2.0))
        return QRectF(left, top, width, height)

"""Marks on the sheet beside the map of change: overlap, thin places, roll lines, with words."""

from collections.abc import Iterable

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF, QTransform

from app.job import TOO_LITTLE_OVERLAP_MM2
from app.units import thickness_text
from app.window.look import ASK, ASK_TINT, INK
from app.window.words import roll_words
from geometry.arrays import FloatArray
from geometry.blank import FlatPanel
from geometry.pattern import Pattern

_RING_PX = 13.0
_APART_PX = 8.0
_PADDING_PX = 5.0
_ROLL = Qt.PenStyle.DashDotLine
_ALONG = (0.5, 0.35, 0.65, 0.2, 0.8)
"""Where along a roll line its words may stand."""

_MOST_TOLD = 3
"""Of thin regions, the largest are told in words."""


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
        """Draw a ring where a blank lies over itself, with the words."""
        if flat.overlap_area <= TOO_LITTLE_OVERLAP_MM2 or not np.isfinite(flat.overlap_place).all():
            return
        at = self._at(flat.overlap_place)
        painter = self._painter
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((QColor("white"), 6.0), (QColor(ASK), 2.6)):
            painter.setPen(QPen(colour, width))
            painter.drawEllipse(at, _RING_PX, _RING_PX)
        painter.drawLine(at + QPointF(0.0, -7.0), at + QPointF(0.0, 2.0))
        painter.drawPoint(at + QPointF(0.0, 6.0))
        self.say("LIES OVER ITSELF", self._beside(at), must=True)

    def thinnest(self, pattern: Pattern, sheet_mm: float, show: str) -> None:
        """Draw a slanting cross in a ring at the thinnest place, with how thin."""
        mark = pattern.thinnest
        if mark is None:
            return
        at = self._at(mark.place)
        painter = self._painter
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((QColor("white"), 4.0), (QColor(INK), 1.6)):
            painter.setPen(QPen(colour, width))
            for way in (QPointF(7.0, 7.0), QPointF(7.0, -7.0)):
                painter.drawLine(at - way, at + way)
            painter.drawEllipse(at, 5.0, 5.0)
        words = f"thinnest {thickness_text(mark.ratio * sheet_mm, show)}"
        self.say(words, self._beside(at), must=True, colour=INK)

    def thin(self, pattern: Pattern, least_mm: float, show: str) -> None:
        """Draw a dotted line round what ends thinner than the maker's least, with the words."""
        painter = self._painter
        for region in pattern.thin_regions:
            painter.setBrush(QBrush(QColor(154, 74, 0, 120), Qt.BrushStyle.Dense6Pattern))
            painter.setPen(QPen(QColor(ASK), 1.8, Qt.PenStyle.DotLine))
            path = QPainterPath()
            for ring in (region.outline, *region.holes):
                path.addPolygon(self._line(ring))
                path.closeSubpath()
            painter.drawPath(path)
        words = f"thinner than {thickness_text(least_mm, show)}"
        for region in pattern.thin_regions[:_MOST_TOLD]:
            box = self._line(region.outline).boundingRect()
            above = QPointF(box.center().x(), box.top() - _APART_PX)
            below = QPointF(box.center().x(), box.bottom() + _APART_PX)
            self.say(words, (above, below, box.center()))

    def rolls(self, pattern: Pattern, show: str, *, from_inside: bool) -> None:
        """Draw the lines to roll or fold along, with the sweep radius or the angle."""
        painter = self._painter
        lines = [self._line(roll.points) for roll in pattern.rolls]
        for roll, line in zip(pattern.rolls, lines, strict=True):
            painter.setPen(QPen(QColor(INK), 2.2 if roll.is_fold else 1.3, _ROLL))
            painter.drawPolyline(line)
        for roll, line in zip(pattern.rolls, lines, strict=True):
            words = roll_words(roll, show, up=roll.towards_outside != from_inside)
            places = [line.at(int(part * (line.size() - 1))) for part in _ALONG]
            self.say(words, places, colour=INK)

    def _at(self, place: FloatArray) -> QPointF:
        return self._to_picture.map(QPointF(*place))

    def _line(self, points: FloatArray) -> QPolygonF:
        return self._to_picture.map(QPolygonF([QPointF(*point) for point in points]))

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

"""Draws one sheet: net and trim line, openings, filled places, the map of change, marks."""

from collections.abc import Iterator

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from app.units import signed_change_text
from app.window.look import ACCENT, ASK, INK, LOCKED, METAL, MIRRORED
from app.window.sheet import FIRST, SECOND, Sheet
from app.window.sheet_marks import SheetMarks
from geometry.arrays import FloatArray


class SheetPainter:
    """Draws one sheet."""

    def __init__(self, painter: QPainter, sheet: Sheet, to_picture: QTransform) -> None:
        self._painter, self._sheet, self._to_picture = painter, sheet, to_picture

    def draw(self, picture: QImage, box: tuple[FloatArray, FloatArray]) -> None:
        """Draw everything, the map first."""
        painter, sheet = self._painter, self._sheet
        flat = sheet.blank.flat
        net = self._outline(flat.flat_vertices[flat.rim])
        if sheet.against is not None:
            self._compared(net, self._outline(sheet.against.net))
            return
        painter.save()
        painter.setClipPath(net)
        painter.setTransform(self._to_picture)
        low, high = box
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(QRectF(low[0], low[1], high[0] - low[0], high[1] - low[1]), picture)
        painter.restore()
        self._hatch_change()
        self._hatch_filled()
        self._net_mirrored()
        self._contours()
        self._lines_of_the_tank()
        self._openings()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(INK), 2))
        painter.drawPath(net)
        pattern = sheet.pattern
        if pattern is not None and pattern.trim is not None and sheet.may_cut:
            pen = QPen(QColor("#b00020"), 1.6, Qt.PenStyle.DashLine)
            painter.setPen(pen)
            painter.drawPath(self._outline(pattern.trim))
        self._front()
        self._marks()
        if sheet.stale:
            self._stale()

    def _marks(self) -> None:
        """Draw marks, the weightiest first, and numbers where room is left for words."""
        sheet = self._sheet
        marks = SheetMarks(self._painter, self._to_picture)
        marks.overlap(sheet.blank.flat)
        if sheet.pattern is not None:
            marks.thinnest(sheet.pattern, sheet.sheet_mm, sheet.show)
            marks.thin(sheet.pattern, sheet.least_mm, sheet.show)
            marks.rolls(sheet.pattern, sheet.show, from_inside=sheet.from_inside)
            for words, places in self._numbers():
                marks.say(words, places, colour=INK)

    def _compared(self, first: QPainterPath, second: QPainterPath) -> None:
        """Draw both net lines; hatched one way where only the first has metal, and the other."""
        painter = self._painter
        painter.fillPath(first.united(second), QColor(METAL).lighter(118))
        for only, pattern in (
            (first.subtracted(second), Qt.BrushStyle.FDiagPattern),
            (second.subtracted(first), Qt.BrushStyle.BDiagPattern),
        ):
            painter.fillPath(only, QBrush(QColor(INK), pattern))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for pen, outline in ((FIRST, first), (SECOND, second)):
            painter.setPen(pen)
            painter.drawPath(outline)
        self._front()

    def _outline(self, points: FloatArray) -> QPainterPath:
        path = QPainterPath()
        path.addPolygon(self._to_picture.map(QPolygonF([QPointF(*point) for point in points])))
        path.closeSubpath()
        return path

    def _hatch_change(self) -> None:
        """Hatch as on paper: rising to the right where to stretch, falling where to shrink."""
        for loops, brush in (
            (self._sheet.stretched, Qt.BrushStyle.BDiagPattern),
            (self._sheet.shrunk, Qt.BrushStyle.FDiagPattern),
        ):
            path = QPainterPath()  # its own fill rule is even-odd
            for loop in loops:
                path.addPath(self._outline(loop))
            self._painter.fillPath(path, QBrush(QColor(35, 40, 43, 60), brush))

    def _hatch_filled(self) -> None:
        blank = self._sheet.blank
        if not blank.filled.any():
            return
        path = QPainterPath()
        path.setFillRule(Qt.FillRule.WindingFill)
        if self._sheet.pattern is not None:
            for region in self._sheet.pattern.no_data:
                path.addPath(self._outline(region.outline))
        else:
            corners = blank.flat.flat_vertices[blank.flat.faces[blank.filled]]
            for triangle in corners:
                path.addPath(self._outline(triangle))
        brush = QBrush(QColor(60, 60, 60, 170), Qt.BrushStyle.DiagCrossPattern)
        self._painter.fillPath(path, brush)

    def _net_mirrored(self) -> None:
        """Lay a net of thin lines over what was made from the other hand."""
        pattern = self._sheet.pattern
        if pattern is None or not pattern.copied:
            return
        path = QPainterPath()  # its own fill rule is even-odd
        for region in pattern.copied:
            for loop in (region.outline, *region.holes):
                path.addPath(self._outline(loop))
        brush = QBrush(QColor(MIRRORED), Qt.BrushStyle.CrossPattern)
        self._painter.fillPath(path, brush)

    def _lines_of_the_tank(self) -> None:
        """Draw locked character lines whole, and the centre line by dash and dot."""
        pattern = self._sheet.pattern
        if pattern is None:
            return
        for lines, colour, style in (
            (pattern.character_lines, LOCKED, Qt.PenStyle.SolidLine),
            (pattern.centre_lines, ACCENT, Qt.PenStyle.DashDotLine),
        ):
            self._painter.setPen(QPen(QColor(colour), 1.8, style))
            for points in lines:
                line = QPolygonF([QPointF(*point) for point in points])
                self._painter.drawPolyline(self._to_picture.map(line))

    def _contours(self) -> None:
        pattern = self._sheet.pattern
        if pattern is None:
            return
        painter = self._painter
        for contour in pattern.contours:
            style = Qt.PenStyle.SolidLine if contour.value > 0 else Qt.PenStyle.DashLine
            painter.setPen(QPen(QColor(35, 40, 43, 190), 1.1, style))
            line = self._to_picture.map(QPolygonF([QPointF(*point) for point in contour.points]))
            painter.drawPolyline(line)

    def _numbers(self) -> Iterator[tuple[str, list[QPointF]]]:
        """Yield the number of every contour long enough, and places for it along the line."""
        pattern = self._sheet.pattern
        for contour in () if pattern is None else pattern.contours:
            line = self._to_picture.map(QPolygonF([QPointF(*point) for point in contour.points]))
            box = line.boundingRect()
            if box.width() + box.height() > 90.0:
                words = signed_change_text(contour.value, self._sheet.show)
                parts = (0.5, 0.3, 0.7, 0.1, 0.9)
                yield words, [line.at(int(part * (line.size() - 1))) for part in parts]

    def _openings(self) -> None:
        pattern = self._sheet.pattern
        if pattern is None:
            return
        painter = self._painter
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for opening in pattern.openings:
            painter.setPen(QPen(QColor(ASK), 1.6, Qt.PenStyle.DotLine))
            outline = self._outline(opening.outline)
            painter.drawPath(outline)
            if outline.boundingRect().width() > 44.0:
                painter.setPen(QColor(ASK))
                box = QRectF(outline.boundingRect().center(), outline.boundingRect().center())
                box.adjust(-60, -18, 60, 18)
                painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "CUT AFTER\nFORMING")

    def _front(self) -> None:
        if not self._sheet.has_front:
            return
        painter = self._painter
        ratio = painter.device().devicePixelRatioF()
        width = painter.device().width() / ratio
        bottom = painter.device().height() / ratio - 20.0
        way = -1.0 if self._sheet.from_inside != self._sheet.is_turned else 1.0
        tail, tip = QPointF(width / 2 - way * 44, bottom), QPointF(width / 2 + way * 44, bottom)
        painter.setPen(QPen(QColor(ACCENT), 2))
        painter.drawLine(tail, tip)
        for side in (-1.0, 1.0):
            painter.drawLine(tip, tip + QPointF(-way * 9.0, side * 5.0))
        box = QRectF(width / 2 - 44, bottom - 20, 88, 18)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "FRONT")

    def _stale(self) -> None:
        painter = self._painter
        painter.setPen(QColor(ASK))
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        ratio = painter.device().devicePixelRatioF()
        box = QRectF(
            0, painter.device().height() / ratio / 2 - 14, painter.device().width() / ratio, 28
        )
        painter.fillRect(box, QColor(251, 234, 210, 225))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "OUT OF DATE: lay it flat again")
        font.setBold(False)
        painter.setFont(font)

"""The blank on its sheet, to look at and point into.

The map of change is drawn once into a picture of face numbers, which also tells the face under the
pointer.
"""

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.job import Blank
from app.units import signed_change_text
from app.window.link import Spot
from app.window.look import EDGE, INK, PAPER, SOFT_INK
from app.window.sheet import FIRST, SECOND, Against, Sheet, change_colour
from app.window.sheet_painter import SheetPainter
from geometry.arrays import FloatArray, IntArray

LONGEST_PICTURE_PX = 1400
NO_FACE = -1


class SheetView(QWidget):
    """A blank to look at and point into."""

    pointed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMouseTracking(True)
        self.setMinimumWidth(220)
        self._sheet: Sheet | None = None
        self._words = ""
        self._map: _FaceMap | None = None
        self._spot: FloatArray | None = None
        self._zoom = 1.0
        self._offset = QPointF(0.0, 0.0)
        self._grabbed: QPointF | None = None

    def show_sheet(self, sheet: Sheet | None, words: str) -> None:
        """Show a blank, or say why there is none."""
        new_blank = sheet is not None and (
            self._sheet is None or self._sheet.blank is not sheet.blank
        )
        self._sheet, self._words = sheet, words
        if sheet is None:
            self._map = None
        elif new_blank or self._map is None:
            self._map = _FaceMap(sheet.blank)
            self.fit()
        self._spot = None
        self.update()

    def show_spot(self, place: FloatArray | None) -> None:
        """Light up a place that is pointed at elsewhere; u, v seen from outside."""
        self._spot = place
        self.update()

    def fit(self) -> None:
        """Show all of the blank."""
        self._zoom, self._offset = 1.0, QPointF(0.0, 0.0)
        self.update()

    # ---- drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the sheet."""
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), QColor(PAPER))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if self._sheet is None or self._map is None:
                painter.setPen(QColor(SOFT_INK))
                font = painter.font()
                font.setPointSize(13)
                painter.setFont(font)
                box = self.rect().adjusted(24, 24, -24, -24)
                flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
                painter.drawText(box, int(flags), self._words)
                return
            SheetPainter(painter, self._sheet, self.to_picture()).draw(
                self._map.picture(self._sheet), self._map.box
            )
            if self._spot is not None:
                at = self.to_picture().map(QPointF(*self._spot))
                painter.setPen(QPen(QColor("white"), 5))
                painter.drawEllipse(at, 8, 8)
                painter.setPen(QPen(QColor(INK), 2))
                painter.drawEllipse(at, 8, 8)
            if self._sheet.against is None:
                self._draw_scale(painter, self._sheet)
            else:
                self._draw_ways(painter, self._sheet.against)

    def _draw_ways(self, painter: QPainter, against: Against) -> None:
        """Draw which line is which along the top."""
        metrics = painter.fontMetrics()
        left = 16.0
        for pen, words in zip((FIRST, SECOND), against.ways, strict=True):
            painter.setPen(pen)
            painter.drawLine(QPointF(left, 18.0), QPointF(left + 38.0, 18.0))
            painter.setPen(QColor(INK))
            width = metrics.horizontalAdvance(words) + 8.0
            painter.drawText(QRectF(left + 44.0, 8.0, width, 20.0), _LEFT, words)
            left += 44.0 + width + 18.0

    def _draw_scale(self, painter: QPainter, sheet: Sheet) -> None:
        """Draw the colour scale with its words along the top."""
        beside = self.width() >= 300.0  # else the ends are said under the scale
        width = min(300.0, self.width() - (190.0 if beside else 24.0))
        left, top = (self.width() - width) / 2.0, 13.0
        for at in range(64):
            colour = change_colour((at + 0.5) / 32.0 - 1.0)
            painter.fillRect(QRectF(left + at * width / 64, top, width / 64 + 1, 10), colour)
        painter.setPen(QPen(QColor(EDGE), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(left, top, width, 10))
        painter.setPen(QColor(INK))
        ends = (
            signed_change_text(-sheet.limit, sheet.show),
            signed_change_text(sheet.limit, sheet.show),
        )
        unit = "per 100" if sheet.show == "mm" else "in per foot"
        if beside:
            painter.drawText(QRectF(left - 92, top - 5, 86, 20), _RIGHT, f"shrink {ends[0]}")
            painter.drawText(QRectF(left + width + 6, top - 5, 90, 20), _LEFT, f"{ends[1]} stretch")
            under = QRectF(left - 60, top + 12, width + 120, 18)
            painter.drawText(under, _MIDDLE, f"leave: 0    ({unit})")
        else:
            under = QRectF(left, top + 11, width, 18)
            painter.drawText(under, _LEFT, f"shrink {ends[0]}")
            painter.drawText(under, _RIGHT, f"{ends[1]} stretch")
            painter.drawText(under.translated(0, 15), _MIDDLE, f"leave: 0    ({unit})")

    def to_picture(self) -> QTransform:
        """Return the map from u, v (seen from outside) to points of this view."""
        transform = QTransform()
        if self._map is None or self._sheet is None:
            return transform
        low, high = self._map.box
        extent = np.maximum(high - low, 1.0) + 2.0 * 16.0
        room_w, room_h = max(60, self.width() - 24), max(60, self.height() - 96)
        scale = min(room_w / extent[0], room_h / extent[1]) * self._zoom
        middle = (low + high) / 2.0
        transform.translate(
            self.width() / 2.0 + self._offset.x(), self.height() / 2.0 + 20 + self._offset.y()
        )
        up = -scale if self._sheet.is_turned else scale
        transform.scale(-up if self._sheet.from_inside else up, -up)
        transform.translate(-middle[0], -middle[1])
        return transform

    # ---- the mouse

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Tell the place pointed at, or move the sheet."""
        if self._grabbed is not None:
            self._offset += event.position() - self._grabbed
            self._grabbed = event.position()
            self.update()
            return
        self.pointed.emit(self.spot_at(event.position()))

    def spot_at(self, place: QPointF) -> Spot | None:
        """Return the place of the panel under a point of this view."""
        if self._map is None or self._sheet is None:
            return None
        back, possible = self.to_picture().inverted()
        if not possible:
            return None
        at = back.map(place)
        found = self._map.face_at(np.array([at.x(), at.y()]))
        return None if found is None else Spot(self._sheet.blank.panel, *found)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Tell that nothing is pointed at."""
        self.pointed.emit(None)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take hold of the sheet."""
        self._grabbed = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Let go of the sheet."""
        self._grabbed = None

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Come closer or go off, about the pointer."""
        factor = 1.0015 ** event.angleDelta().y()
        factor = min(max(self._zoom * factor, 0.5), 40.0) / self._zoom
        middle = QPointF(self.width() / 2.0, self.height() / 2.0 + 20)
        away = event.position() - middle - self._offset
        self._offset -= away * (factor - 1.0)
        self._zoom *= factor
        self.update()


_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_MIDDLE = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)


class _FaceMap:
    """The blank as a picture whose pixels are face numbers."""

    def __init__(self, blank: Blank) -> None:
        self._blank = blank
        flat = blank.flat.flat_vertices
        low, high = flat.min(axis=0), flat.max(axis=0)
        self.box = (low, high)
        self._per_mm = LONGEST_PICTURE_PX / float(max((high - low).max(), 1e-9))
        size = np.maximum(np.ceil((high - low) * self._per_mm).astype(int), 1)
        self._faces = _face_numbers(flat, blank.flat.faces, low, self._per_mm, size)
        self._painted: tuple[float, QImage] | None = None

    def picture(self, sheet: Sheet) -> QImage:
        """Return the map of change as a picture, v upward."""
        if self._painted is None or self._painted[0] != sheet.limit:
            steps = [change_colour(at / 64.0 - 1.0).rgb() for at in range(129)]
            change = np.clip(self._blank.flat.signed_change / sheet.limit, -1.0, 1.0)
            colours = np.array(steps, np.uint32)[np.round(change * 64 + 64).astype(int)]
            pixels = np.where(self._faces >= 0, colours[np.maximum(self._faces, 0)], 0xFFF7F6F1)
            pixels = np.ascontiguousarray(pixels.astype(np.uint32))
            height, width = pixels.shape
            image = QImage(pixels.data, width, height, 4 * width, QImage.Format.Format_RGB32)
            self._painted = (sheet.limit, image.copy())
        return self._painted[1]

    def face_at(self, place: FloatArray) -> tuple[int, FloatArray] | None:
        """Return the face at u, v and the place's weights in it."""
        column, row = ((place - self.box[0]) * self._per_mm).astype(int)
        height, width = self._faces.shape
        if not (0 <= column < width and 0 <= row < height):
            return None
        face = int(self._faces[row, column])
        if face < 0:
            return None
        a, b, c = self._blank.flat.flat_vertices[self._blank.flat.faces[face]]
        matrix = np.array([b - a, c - a]).T
        v, w = np.linalg.solve(matrix, place - a)
        weights = np.clip([1.0 - v - w, v, w], 0.0, 1.0)
        return face, np.asarray(weights / weights.sum(), np.float64)


def _face_numbers(
    flat: FloatArray, faces: IntArray, low: FloatArray, per_mm: float, size: IntArray
) -> IntArray:
    """Return (rows, columns) face numbers, -1 outside, row 0 at the least v."""
    image = QImage(int(size[0]), int(size[1]), QImage.Format.Format_RGB32)
    image.fill(QColor(255, 255, 255))
    corners = (flat[faces] - low) * per_mm
    with QPainter(image) as painter:
        for number, triangle in enumerate(corners):
            colour = QColor((number >> 16) & 255, (number >> 8) & 255, number & 255)
            painter.setPen(colour)
            painter.setBrush(colour)
            painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in triangle]))
    pixels = np.frombuffer(image.constBits(), np.uint32).reshape(int(size[1]), -1)
    numbers = (pixels[:, : int(size[0])] & 0xFFFFFF).astype(np.int64)
    return np.where(numbers == 0xFFFFFF, NO_FACE, numbers)

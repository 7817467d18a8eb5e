"""The blank on its sheet: net and trim line, openings, filled places, and the map of change.

The map is drawn once into a picture of face numbers, which also tells the face under the pointer.
"""

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QImage,
    QMouseEvent,
    QPainter,
    QPainterPath,
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
from app.window.look import (
    ACCENT,
    ASK,
    EDGE,
    INK,
    METAL,
    PAPER,
    SEAM,
    SHRINK_TO_STRETCH,
    SOFT_INK,
)
from app.window.sheet_marks import SheetMarks
from geometry.arrays import FloatArray, IntArray
from geometry.pattern import Pattern

LONGEST_PICTURE_PX = 1400
NO_FACE = -1


@dataclass(frozen=True, eq=False)
class Sheet:
    """What the sheet shows.

    Attributes
    ----------
    blank : Blank
    pattern : Pattern or None
        Its trim line and marks, once dressed.
    limit : float
        End of the colour scale, signed change.
    may_cut : bool
        Whether a cut line may be shown.
    stale : bool
        Out of date: to be looked at only.
    from_inside : bool
        Which face is up.
    has_front : bool
        Whether FRONT lies along the sheet.
    show : str
        mm or in.
    against : Against or None
        While two ways are compared: the second blank, and what both are called.
    """

    blank: Blank
    pattern: Pattern | None
    limit: float
    may_cut: bool
    stale: bool
    from_inside: bool
    has_front: bool
    show: str
    against: "Against | None" = None


@dataclass(frozen=True, eq=False)
class Against:
    """A second blank laid on the first.

    Attributes
    ----------
    net : (k, 2) float, mm
        Its net line, seen from outside.
    ways : (str, str)
        What the first and the second are called.
    """

    net: FloatArray
    ways: tuple[str, str]


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
        for pen, words in zip((_FIRST, _SECOND), against.ways, strict=True):
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
            painter.drawText(QRectF(left, top + 12, width, 18), _MIDDLE, f"leave: 0    ({unit})")
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
        transform.scale(-scale if self._sheet.from_inside else scale, -scale)
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


_FIRST = QPen(QColor(INK), 2.0)
_SECOND = QPen(QColor(SEAM), 2.0, Qt.PenStyle.DashLine)


def change_colour(share: float) -> QColor:
    """Return the colour of a signed change, as a share of the scale's end."""
    places = [place for place, _ in SHRINK_TO_STRETCH]
    channels = np.array([colour for _, colour in SHRINK_TO_STRETCH], np.float64)
    return QColor(*(round(float(np.interp(share, places, channels[:, k]))) for k in range(3)))


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
        self._hatch_filled()
        self._contours()
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
        SheetMarks(painter, self._to_picture).overlap(flat)
        if sheet.stale:
            self._stale()

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
        for pen, outline in ((_FIRST, first), (_SECOND, second)):
            painter.setPen(pen)
            painter.drawPath(outline)
        self._front()

    def _outline(self, points: FloatArray) -> QPainterPath:
        path = QPainterPath()
        path.addPolygon(self._to_picture.map(QPolygonF([QPointF(*point) for point in points])))
        path.closeSubpath()
        return path

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
        brush = QBrush(QColor(60, 60, 60, 170), Qt.BrushStyle.BDiagPattern)
        self._painter.fillPath(path, brush)

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
            box = line.boundingRect()
            if box.width() + box.height() > 90.0:
                self._number(line.at(line.size() // 2), contour.value)

    def _number(self, at: QPointF, value: float) -> None:
        words = signed_change_text(value, self._sheet.show)
        box = QRectF(at.x() - 16, at.y() - 8, 32, 16)
        self._painter.fillRect(box, QColor(251, 250, 246, 215))
        self._painter.setPen(QColor(INK))
        self._painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)

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
        way = -1.0 if self._sheet.from_inside else 1.0
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

"""`PageCanvas`: one page as it will come out, to be looked at closely: fit, zoom and pan."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.exports import Page
from app.window.look import ASK, ASK_TINT, BENCH, EDGE, INK, SOFT_INK
from app.window.page_painter import draw_page, page_picture

MOST_DOTS_PER_MM = 60.0
_MOST_KEPT = 12_000_000
"""Dots of a whole page kept as a picture; larger ones are drawn anew where they are seen."""
_MARGIN = 18.0
_FEWEST_OF_FIT = 0.25
_NUDGE = 60.0
OUT_OF_DATE = "OUT OF DATE - NOT TO BE PRINTED"


class PageCanvas(QWidget):
    """Shows a page. Fitted until it is zoomed or panned."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(240, 200)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self._page: Page | None = None
        self._stale = False
        self._words = ""
        self.dots_per_mm, self._corner = 1.0, QPointF(0.0, 0.0)
        self._is_fitted = True
        self._dragged_from: QPointF | None = None
        self._kept: tuple[Page, float, QImage] | None = None

    @property
    def page(self) -> Page | None:
        """The page shown."""
        return self._page

    @property
    def is_stale(self) -> bool:
        """Whether it is marked as out of date."""
        return self._stale

    def show_page(self, page: Page | None, words: str, *, stale: bool) -> None:
        """Show a page, or words where there is none."""
        if page is not self._page:
            old, self._page = self._page, page
            if old is None or page is None or _size(old) != _size(page):
                self._is_fitted = True
        self._words, self._stale = words, stale
        if self._is_fitted:
            self.fit()
        self.update()

    # ---- looking closer

    def fit(self) -> None:
        """Show the whole page."""
        self._is_fitted = True
        if self._page is None:
            return
        self.dots_per_mm = self._fitting()
        width, height = (side * self.dots_per_mm for side in _size(self._page))
        self._corner = QPointF((self.width() - width) / 2.0, (self.height() - height) / 2.0)
        self.update()

    def zoom(self, by: float, at: QPointF | None = None) -> None:
        """Show it larger, or smaller; the place pointed at stays where it is."""
        if self._page is None:
            return
        least = self._fitting() * _FEWEST_OF_FIT
        wanted = min(max(self.dots_per_mm * by, least), MOST_DOTS_PER_MM)
        place = at if at is not None else QPointF(self.width() / 2.0, self.height() / 2.0)
        self._corner = place - (place - self._corner) * (wanted / self.dots_per_mm)
        self.dots_per_mm = wanted
        self._is_fitted = False
        self.update()

    def turn(self, right: float, up: float) -> None:
        """Go over the page by keys, as the arrow keys turn the tank: only which way counts."""
        self._move(QPointF(_sign(right) * _NUDGE, _sign(up) * _NUDGE))

    def place_at(self, point: QPointF) -> tuple[float, float]:
        """Return the place of the page, mm from its lower left corner, drawn at a point."""
        height = 0.0 if self._page is None else self._page.height_mm
        shown = (point - self._corner) / self.dots_per_mm
        return shown.x(), height - shown.y()

    def _fitting(self) -> float:
        width, height = (1.0, 1.0) if self._page is None else _size(self._page)
        across = (self.width() - 2.0 * _MARGIN) / width
        return max(0.02, min(across, (self.height() - 2.0 * _MARGIN) / height))

    def _move(self, by: QPointF) -> None:
        if self._page is not None:
            self._corner += by
            self._is_fitted = False
            self.update()

    # ---- mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take hold of the page."""
        self.setFocus()
        self._dragged_from = event.position()
        self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Pan."""
        if self._dragged_from is not None:
            self._move(event.position() - self._dragged_from)
            self._dragged_from = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Let go."""
        self._dragged_from = None
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Fit, or look closely at the place clicked."""
        if self._is_fitted:
            self.zoom(4.0, event.position())
        else:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer."""
        self.zoom(1.2 ** (event.angleDelta().y() / 120.0), event.position())
        event.accept()

    # ---- drawing

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep a fitted page fitted."""
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the page, or the words."""
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), QColor(BENCH).darker(106))
            if self._page is None:
                self._draw_words(painter)
                return
            width, height = (side * self.dots_per_mm for side in _size(self._page))
            sheet = QRectF(self._corner.x(), self._corner.y(), width, height)
            painter.fillRect(sheet.translated(3.0, 3.0), QColor(EDGE))
            painter.fillRect(sheet, Qt.GlobalColor.white)
            self._draw_page(painter, self._page, sheet)
            painter.setPen(QPen(QColor(SOFT_INK), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(sheet)
            if self._stale:
                self._draw_stale(painter, sheet)

    def _draw_page(self, painter: QPainter, page: Page, sheet: QRectF) -> None:
        ratio = self.devicePixelRatioF()
        dots = self.dots_per_mm * ratio
        if page.width_mm * page.height_mm * dots * dots > _MOST_KEPT:
            painter.save()
            painter.setClipRect(sheet)
            draw_page(painter, page, sheet.topLeft(), self.dots_per_mm)
            painter.restore()
            return
        if self._kept is None or self._kept[0] is not page or self._kept[1] != dots:
            self._kept = (page, dots, page_picture(page, dots))
        painter.drawImage(sheet, self._kept[2])

    def _draw_words(self, painter: QPainter) -> None:
        painter.setPen(QColor(SOFT_INK))
        flags = int(Qt.AlignmentFlag.AlignCenter) | int(Qt.TextFlag.TextWordWrap)
        painter.drawText(QRectF(self.rect()).adjusted(30, 30, -30, -30), flags, self._words)

    def _draw_stale(self, painter: QPainter, sheet: QRectF) -> None:
        """Grey the page and say over it that it no longer holds."""
        seen = sheet.intersected(QRectF(self.rect()))
        veil = QColor(BENCH)
        veil.setAlpha(185)
        painter.fillRect(seen, veil)
        font = painter.font()
        font.setBold(True)
        font.setPointSizeF(font.pointSizeF() + 2.0)
        painter.setFont(font)
        band = QRectF(seen.left(), seen.center().y() - 20.0, seen.width(), 40.0)
        painter.fillRect(band, QColor(ASK_TINT))
        painter.setPen(QColor(ASK if seen.width() > 0 else INK))
        painter.drawText(band, int(Qt.AlignmentFlag.AlignCenter), OUT_OF_DATE)


def _size(page: Page) -> tuple[float, float]:
    return page.width_mm, page.height_mm


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)

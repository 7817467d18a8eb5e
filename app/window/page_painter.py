"""Draws a composed page with Qt: on the screen and through a printer, as the PDF has it.

Letters are drawn as outlines of the very font files the PDF holds, letter by letter as it does:
neither kerned nor joined, nor fitted to the dots of the screen.
"""

from functools import cache, lru_cache

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QImage, QPainter, QPainterPath, QPen, QPolygonF, QRawFont

from app.exports import (
    BOLD,
    CAPITAL_HEIGHT,
    PLAIN,
    STROKES,
    Colour,
    Drawing,
    Fill,
    Line,
    Page,
    Picture,
    Placed,
    Text,
    font,
    printable,
)
from geometry.arrays import FloatArray

_LETTER_PX = 256.0
"""Size the outlines of letters are kept at."""


def draw_page(painter: QPainter, page: Page, corner: QPointF, dots_per_mm: float) -> None:
    """Draw a page, its upper left corner at a place of the painter's, so many dots to the mm."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.translate(corner)
    painter.scale(dots_per_mm, -dots_per_mm)  # a page is measured upward from its lower edge
    painter.translate(0.0, -page.height_mm)
    for placed in page.contents:
        _draw_placed(painter, placed)
    painter.restore()


def page_picture(page: Page, dots_per_mm: float) -> QImage:
    """Return a page as a picture on white, whole."""
    width, height = (round(side * dots_per_mm) for side in (page.width_mm, page.height_mm))
    picture = QImage(max(1, width), max(1, height), QImage.Format.Format_RGB32)
    picture.fill(Qt.GlobalColor.white)
    with QPainter(picture) as painter:
        draw_page(painter, page, QPointF(0.0, 0.0), dots_per_mm)
    return picture


def _draw_placed(painter: QPainter, placed: Placed) -> None:
    painter.save()
    if placed.clip is not None:
        left, bottom, right, top = placed.clip
        painter.setClipRect(
            QRectF(left, bottom, right - left, top - bottom), Qt.ClipOperation.IntersectClip
        )
    painter.translate(placed.x, placed.y)
    drawing: Drawing = placed.drawing
    for fill in drawing.fills:
        _draw_fill(painter, fill)
    for picture in drawing.pictures:
        _draw_picture(painter, picture)
    for line in drawing.lines:
        _draw_line(painter, line)
    for text in drawing.texts:
        _draw_text(painter, text)
    painter.restore()


def _draw_fill(painter: QPainter, fill: Fill) -> None:
    path = QPainterPath()  # its own fill rule is even-odd
    for loop in fill.loops:
        path.addPolygon(_polygon(loop))
        path.closeSubpath()
    painter.fillPath(path, _colour(fill.colour))


def _draw_picture(painter: QPainter, picture: Picture) -> None:
    pixels = np.ascontiguousarray(picture.pixels)
    height, width, _ = pixels.shape
    image = QImage(pixels.data, width, height, 3 * width, QImage.Format.Format_RGB888)
    painter.save()
    painter.translate(picture.place[0], picture.place[1] + picture.height_mm)
    painter.scale(1.0, -1.0)
    painter.drawImage(QRectF(0.0, 0.0, picture.width_mm, picture.height_mm), image)
    painter.restore()


def _draw_line(painter: QPainter, line: Line) -> None:
    painter.setPen(_pen(line))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    points = _polygon(line.points)
    if line.closed:
        painter.drawPolygon(points)
    else:
        painter.drawPolyline(points)


def _pen(line: Line) -> QPen:
    stroke = STROKES[line.meaning]
    pen = QPen(QColor.fromRgbF(stroke.grey, stroke.grey, stroke.grey))
    pen.setWidthF(stroke.width_mm)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if stroke.dashes:
        pen.setDashPattern([dash / stroke.width_mm for dash in stroke.dashes])
    return pen


def _draw_text(painter: QPainter, text: Text) -> None:
    if text.masked:
        ground = QPainterPath()
        ground.addPolygon(_polygon(text.outline))
        painter.fillPath(ground, Qt.GlobalColor.white)
    size = text.height_mm / CAPITAL_HEIGHT / _LETTER_PX
    letters, width = _letters(text.text, BOLD if text.bold else PLAIN)
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * width
    painter.save()
    painter.translate(*text.place)
    painter.rotate(text.angle_deg)
    painter.scale(size, -size)
    painter.translate(-back, 0.0)
    painter.fillPath(letters, _colour(text.colour))
    painter.restore()


@lru_cache(maxsize=4096)
def _letters(text: str, name: str) -> tuple[QPainterPath, float]:
    """Return the outlines of a line of text from its start on the base line, and its width."""
    raw = _raw_font(name)
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    x = 0.0
    for letter in printable(text):
        for glyph in raw.glyphIndexesForString(letter):
            path.addPath(raw.pathForGlyph(glyph).translated(x, 0.0))
        x += font(name).stringWidth(letter, _LETTER_PX)
    return path, x


@cache
def _raw_font(name: str) -> QRawFont:
    return QRawFont(font(name).face.filename, _LETTER_PX, QFont.HintingPreference.PreferNoHinting)


def _polygon(points: FloatArray) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in points.tolist()])


def _colour(colour: Colour) -> QColor:
    return QColor.fromRgbF(*colour)

"""Pages to PDF: vector, true to size, the font embedded, the same bytes for the same pages."""

import io
from collections.abc import Iterable, Sequence
from itertools import groupby

from PIL import Image
from reportlab import rl_config
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from app.exports.drawing import (
    BOLD,
    CAPITAL_HEIGHT,
    LARGEST_PAGE_MM,
    MM_PER_POINT,
    PLAIN,
    STROKES,
    Drawing,
    Fill,
    Line,
    Meaning,
    Page,
    PageTooLargeError,
    Picture,
    Placed,
    Text,
    font,
    printable,
)
from app.exports.files.reading_order import printed_order
from geometry.arrays import FloatArray
from geometry.pattern import Curve

_ARC_MM = 1e-4
"""How far a cubic may be from the arc it stands for."""


rl_config.useA85 = 0  # compressed streams as they are: a fifth smaller than as text


def pdf_bytes(pages: Sequence[Page], title: str) -> bytes:
    """Return a PDF of pages that asks viewers not to scale it, and lists what begins on them.

    Raises
    ------
    PageTooLargeError
        A page is larger than viewers open.
    """
    for page in pages:
        if max(page.width_mm, page.height_mm) > LARGEST_PAGE_MM:
            raise PageTooLargeError(page.width_mm, page.height_mm)
    for name in (PLAIN, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(font(name))
    stream = io.BytesIO()
    # Named here so that the file lists no font it does not hold.
    canvas = Canvas(stream, invariant=1, pageCompression=1, initialFontName=PLAIN)  # type: ignore[arg-type]
    canvas.setTitle(printable(title))
    canvas.setCreator("Lowcrown")
    canvas.setProducer("Lowcrown")
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    for number, page in enumerate(pages):
        if page.begins:
            canvas.bookmarkPage(f"page {number}")
            canvas.addOutlineEntry(printable(page.begins), f"page {number}")
        canvas.setPageSize((page.width_mm / MM_PER_POINT, page.height_mm / MM_PER_POINT))
        for placed in page.contents:
            _draw(canvas, placed)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, placed: Placed) -> None:
    canvas.saveState()
    if placed.clip is not None:
        left, bottom, right, top = (value / MM_PER_POINT for value in placed.clip)
        path = canvas.beginPath()
        path.rect(left, bottom, right - left, top - bottom)
        canvas.clipPath(path, stroke=0, fill=0)
    drawing: Drawing = placed.drawing.moved(placed.x, placed.y)
    for fill in drawing.fills:
        _fill(canvas, fill)
    for picture in drawing.pictures:
        _picture(canvas, picture)
    for meaning, lines in groupby(drawing.lines, key=lambda line: line.meaning):
        _lines(canvas, meaning, lines)
    for text in drawing.texts:
        _text(canvas, text)
    canvas.restoreState()


def _fill(canvas: Canvas, fill: Fill) -> None:
    canvas.setFillColorRGB(*fill.colour)
    path = canvas.beginPath()
    for loop in fill.loops:
        _trace(path, loop, closed=True)
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)  # even-odd


def _picture(canvas: Canvas, picture: Picture) -> None:
    x, y = (value / MM_PER_POINT for value in picture.place)
    image = ImageReader(Image.fromarray(picture.pixels))
    canvas.drawImage(image, x, y, picture.width_mm / MM_PER_POINT, picture.height_mm / MM_PER_POINT)


def _lines(canvas: Canvas, meaning: Meaning, lines: Iterable[Line]) -> None:
    """Draw lines of one meaning as one path: its stroke is set, and drawn, once."""
    stroke = STROKES[meaning]
    canvas.setLineWidth(stroke.width_mm / MM_PER_POINT)
    canvas.setStrokeGray(stroke.grey)
    canvas.setDash([dash / MM_PER_POINT for dash in stroke.dashes])
    canvas.setLineJoin(1)
    path = canvas.beginPath()
    for line in lines:
        if line.curve is None:
            _trace(path, line.points, closed=line.closed)
        else:
            _trace_curve(path, line.curve)
    canvas.drawPath(path, stroke=1, fill=0)


def _trace(path: object, points: FloatArray, *, closed: bool) -> None:
    moves = points / MM_PER_POINT
    path.moveTo(*moves[0].tolist())  # type: ignore[attr-defined]
    for x, y in moves[1:].tolist():
        path.lineTo(x, y)  # type: ignore[attr-defined]
    if closed:
        path.close()  # type: ignore[attr-defined]


def _trace_curve(path: object, curve: Curve) -> None:
    """Draw arcs as cubics, which is all that PDF knows."""
    cubics = curve.as_cubics(_ARC_MM)
    path.moveTo(*(cubics.points[0] / MM_PER_POINT).tolist())  # type: ignore[attr-defined]
    is_cubic = cubics.is_cubic
    for index, end in enumerate(cubics.ends / MM_PER_POINT):
        if is_cubic[index]:
            handles = (cubics.controls[index] / MM_PER_POINT).ravel().tolist()
            path.curveTo(*handles, *end.tolist())  # type: ignore[attr-defined]
        else:
            path.lineTo(*end.tolist())  # type: ignore[attr-defined]
    if cubics.closed:
        path.close()  # type: ignore[attr-defined]


def _text(canvas: Canvas, text: Text) -> None:
    if text.masked:
        canvas.setFillGray(1.0)
        ground = canvas.beginPath()
        _trace(ground, text.outline, closed=True)
        canvas.drawPath(ground, stroke=0, fill=1)
    canvas.saveState()
    canvas.setFillColorRGB(*text.colour)
    size = text.height_mm / CAPITAL_HEIGHT / MM_PER_POINT
    canvas.setFont(BOLD if text.bold else PLAIN, size)
    canvas.translate(text.place[0] / MM_PER_POINT, text.place[1] / MM_PER_POINT)
    if text.angle_deg:
        canvas.rotate(text.angle_deg)
    draw = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[text.anchor]
    draw(0, 0, printed_order(printable(text.text)))
    canvas.restoreState()

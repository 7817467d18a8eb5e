"""Pages as a printer shows them: pictures of PDF pages, and crosshairs found in their pixels."""

import numpy as np
import pypdfium2
from pypdfium2 import raw
from scipy.ndimage import binary_dilation, gaussian_filter
from scipy.signal import fftconvolve

from app.exports.pages.joins import CROSS_MM, RING_MM
from geometry.arrays import FloatArray

DPI = 150
PER_MM = DPI / 25.4


def picture(content: bytes, page_number: int) -> FloatArray:
    """Return a page as grey pixels, 0 black to 1 white, first row on top, exactly to scale.

    The ordinary way stretches a page to a whole number of pixels; a matrix does not.
    """
    document = pypdfium2.PdfDocument(content)
    try:
        page = document[page_number]
        scale = DPI / 72.0
        width, height = (int(np.ceil(side * scale)) for side in page.get_size())
        bitmap = pypdfium2.PdfBitmap.new_native(width, height, raw.FPDFBitmap_Gray)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, width, height)
        matrix = raw.FS_MATRIX(scale, 0.0, 0.0, scale, 0.0, 0.0)
        whole = raw.FS_RECTF(0.0, 0.0, float(width), float(height))
        raw.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, whole, raw.FPDF_GRAYSCALE)
        return np.array(bitmap.to_numpy(), np.float64).reshape(height, width) / 255.0
    finally:
        document.close()


def crosshairs(page: FloatArray) -> FloatArray:
    """Return where the four outermost crosshairs of a page are, pixels (4, 2) as x right, y down.

    Upper left, upper right, lower left, lower right. Each is the best match in its quarter of
    the page with a ring and a cross to a part of a pixel by a parabola through the peak.
    """
    pattern = _ring_and_cross()
    half = len(pattern) // 2
    ink = gaussian_filter(1.0 - page, 0.7)
    match = fftconvolve(np.minimum(ink, 0.5), pattern[::-1, ::-1], mode="same")
    rows, columns = len(match), len(match[0])
    found = []
    for top in (True, False):
        for left in (True, False):
            row0, row1 = (half, rows // 2) if top else (rows // 2, rows - half)
            column0, column1 = (half, columns // 2) if left else (columns // 2, columns - half)
            part = match[row0:row1, column0:column1]
            row, column = np.unravel_index(int(part.argmax()), part.shape)
            found.append(_peak(match, int(row) + row0, int(column) + column0))
    return np.array(found)


def _ring_and_cross() -> FloatArray:
    """Return the sign looked for, less the white next to it, so that plain black does not match."""
    half = int(np.ceil((CROSS_MM + 0.5) * PER_MM))
    steps = np.arange(-half, half + 1) / PER_MM
    x, y = np.meshgrid(steps, steps)
    wide = 0.13
    ring = np.abs(np.hypot(x, y) - RING_MM) < wide
    cross = (np.minimum(np.abs(x), np.abs(y)) < wide) & (
        np.maximum(np.abs(x), np.abs(y)) < CROSS_MM
    )
    sign = ring | cross
    beside = binary_dilation(sign, iterations=5) & ~binary_dilation(sign, iterations=2)
    return np.asarray(sign / sign.sum() - beside / beside.sum())


def _peak(match: FloatArray, row: int, column: int) -> tuple[float, float]:
    def beyond(before: float, at: float, after: float) -> float:
        return 0.5 * (before - after) / (before - 2.0 * at + after)

    x = beyond(match[row, column - 1], match[row, column], match[row, column + 1])
    y = beyond(match[row - 1, column], match[row, column], match[row + 1, column])
    return column + x, row + y

"""A flat piece full size on one page of its own size, the title below."""

from app.exports.drawing import Page, Placed, scaled
from app.exports.output import Correction
from app.exports.pages.laid_on_paper import Flat, on_paper
from app.exports.pages.tile_block import FULL_SIZE, correction_words
from app.exports.pages.tiling import FILING_MM, MARGIN_MM, frame
from app.exports.pages.title import CELL_MM, bars, paragraph
from app.exports.pages.title_flow import title

_NARROWEST_MM = 2 * CELL_MM + 4.0
_INSET_MM = 2.0
SIDES_MM = FILING_MM + MARGIN_MM + 2.0 * _INSET_MM
_HEADING_MM = 3.0
_AIR_MM = 6.0
"""Between the pattern and what stands round it, beside the inset."""


def one_piece(
    sheet: Flat,
    correction: Correction | None = None,
    width_mm: float | None = None,
) -> Page:
    """Return the page, as wide as asked or as the pattern needs.

    Parameters
    ----------
    sheet : PanelSheet, Plate or FullSize
    correction : Correction, optional
        For the printer; none if not given.
    width_mm : float, optional
        Of the page, for a roll; the pattern has to fit it.
    """
    by, full = correction or Correction(), on_paper(sheet)
    drawing = scaled(full.drawing(), by.x, by.y)
    left, bottom, right, top = drawing.box
    needed = max(right - left + 2.0 * _AIR_MM, _NARROWEST_MM)
    page_width = needed + SIDES_MM if width_mm is None else width_mm
    width = page_width - SIDES_MM
    block = title(full, width / by.x)
    told, title_high = scaled(block.drawing, by.x, by.y), block.height_mm * by.y
    foot = MARGIN_MM + _INSET_MM + title_high + _AIR_MM
    words = f"{FULL_SIZE} {correction_words(by)} Sheet 1 of 1."
    heading = paragraph([words], width, _HEADING_MM, bold=True)
    page_height = foot + (top - bottom) + _AIR_MM + heading.height_mm + MARGIN_MM
    edge = FILING_MM + _INSET_MM
    x = edge + (width - (right - left)) / 2.0 - left
    upright = scaled(bars(vertical=True), by.x, by.y)
    return Page(
        page_width,
        page_height,
        (
            Placed(heading.drawing, edge, page_height - MARGIN_MM - 1.0),
            Placed(drawing, x, foot - bottom),
            Placed(told, edge, MARGIN_MM + _INSET_MM + title_high),
            Placed(frame(page_width, page_height)),
            Placed(upright, FILING_MM - 6.0, MARGIN_MM + 3.0),
        ),
    )

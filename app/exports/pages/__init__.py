"""Whole pages: the full-size pattern and its tiles, the shape map, the overview, their titles."""

from app.exports.pages.overview import overview_pages
from app.exports.pages.panel_drawing import pattern_drawing
from app.exports.pages.shape_map import shape_page, shape_png
from app.exports.pages.sheets import one_piece, tiled

__all__ = [
    "one_piece",
    "overview_pages",
    "pattern_drawing",
    "shape_page",
    "shape_png",
    "tiled",
]

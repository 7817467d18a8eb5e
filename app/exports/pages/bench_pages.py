"""The pages for the bench of one panel: its arrangement, where it lies in the form, its grid."""

from dataclasses import replace

from app.exports.drawing import Page
from app.exports.facts import PanelSheet
from app.exports.marks import top_up
from app.exports.pages.arrangement import arrangement_pages
from app.exports.pages.bench_page import numbered
from app.exports.pages.form_page import form_pages
from app.exports.pages.grid_page import grid_pages


def bench_pages(sheet: PanelSheet) -> list[Page]:
    """Return all of them, the blank lying level whichever way it lies on its full-size pages."""
    level = top_up(replace(sheet, turn_rad=0.0))
    return numbered([*arrangement_pages(level), *form_pages(level), *grid_pages(level)])

"""One piece on a roll of any width: the turn that takes least length, strips where it must."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from app.exports import PanelSheet, roll_words
from app.exports.drawing import LARGEST_PAGE_MM, Line, Meaning
from app.exports.files import pdf_bytes
from app.exports.output import BadPaperError, Output, roll_named
from app.exports.pages import one_piece_pages, pattern_drawing
from app.exports.pages.one_piece import SIDES_MM
from app.exports.pages.panel_on_paper import PanelOnPaper
from geometry.pattern import dress
from tests.app.exports.reading_back import MM, reader, strokes
from tests.app.exports.sample_sheets import cut_panel, panel_sheet


@cache
def stretched(across: float, up: float) -> PanelSheet:
    """The left side made larger, each way by so much."""
    sheet = panel_sheet("left side")
    by = np.array([across, up])
    large = replace(
        sheet.flat,  # type: ignore[type-var]
        flat_vertices=sheet.flat.flat_vertices * by,
        vertices=sheet.flat.vertices * float(by.mean()),
    )
    pattern = dress(large, cut_panel("left side"), grid_mm=400.0, tick_mm=1000.0)
    return replace(sheet, flat=large, pattern=pattern)


def net_length(content: bytes, page: int = 0) -> float:
    (net,) = [
        line for line in strokes(content, page) if line.closed and abs(line.width - 0.5) < 1e-4
    ]
    return net.length


def drawn_net(sheet: PanelSheet) -> Line:
    """Return the net line as it is drawn, not turned."""
    lines = pattern_drawing(sheet).lines
    (net,) = [line for line in lines if line.meaning is Meaning.NET and line.closed]
    return net


@pytest.mark.parametrize("text", ["24in", "36in", "44in", "610mm", "914mm", "1067 mm"])
def test_the_page_is_as_wide_as_the_roll_and_holds_the_whole_pattern(text: str) -> None:
    roll = roll_named(text)
    sheet = panel_sheet("left side")
    (page,) = one_piece_pages(sheet, Output(roll_mm=roll))
    assert page.width_mm == roll
    exact = drawn_net(sheet).curve
    assert exact is not None
    content = pdf_bytes([page], "x")
    assert float(reader(content).pages[0].mediabox.width) * MM == pytest.approx(roll, abs=1e-3)
    assert net_length(content) == pytest.approx(exact.length, abs=2e-3)
    for line in strokes(content):
        assert line.points[:, 0].min() > 8.0
        assert line.points[:, 0].max() < roll - 8.0
    assert "Sheet 1 of 1" in reader(content).pages[0].extract_text()
    assert roll_words(sheet, Output(roll_mm=roll)) == ""


def drawn_height(page: object) -> float:
    """Return how much of a roll the net line takes along it."""
    (pattern,) = [
        placed.drawing
        for placed in page.contents  # type: ignore[attr-defined]
        if len(placed.drawing.lines) > 50
    ]
    (net,) = [line for line in pattern.lines if line.meaning is Meaning.NET and line.closed]
    return float(np.ptp(net.points[:, 1]))


def test_the_pattern_is_turned_so_that_it_takes_least_of_the_roll() -> None:
    """488 x 200 lies across a roll of 610, 200 long; on a narrower one it stands slanting."""
    sheet = panel_sheet("left side")
    lengths = {}
    for roll in (610.0, 500.0, 420.0, 300.0, 240.0):
        (page,) = one_piece_pages(sheet, Output(roll_mm=roll))
        lengths[roll] = drawn_height(page)
    assert lengths[610.0] == pytest.approx(np.ptp(drawn_net(sheet).points[:, 1]), abs=1e-6)
    assert list(lengths.values()) == sorted(lengths.values())
    (straight,) = one_piece_pages(sheet, Output(roll_mm=610.0, turn=False))
    assert drawn_height(straight) == lengths[610.0]


def test_it_fits_any_roll_as_wide_as_its_narrowest_turn_and_none_narrower() -> None:
    """The narrowest turn is a side of the smallest of all enclosing strips (rotating calipers)."""
    sheet = stretched(1.0, 1.0)
    outline = PanelOnPaper(sheet).outline()
    hull = shapely.convex_hull(shapely.MultiPoint(outline))
    angles = np.linspace(0.0, np.pi, 7201)
    across = np.stack([np.cos(angles), np.sin(angles)])
    corners = shapely.get_coordinates(hull)
    narrowest = float(np.ptp(corners @ across, axis=0).min()) + SIDES_MM
    assert len(one_piece_pages(sheet, Output(roll_mm=narrowest + 0.01))) == 1
    below = Output(roll_mm=narrowest - 1.0)
    pages = one_piece_pages(sheet, below)
    assert len(pages) == 3
    words = roll_words(sheet, below)
    assert f"does not fit a roll of {narrowest - 1.0:.1f}".rstrip("0") in words
    assert "strips to be joined" in words
    first = " ".join(reader(pdf_bytes(pages, "x")).pages[0].extract_text().split())
    assert "does not fit a roll of" in first


def test_a_pattern_longer_than_a_page_may_be_comes_in_joined_pages_that_say_so() -> None:
    sheet = stretched(26.0, 1.5)
    assert np.ptp(PanelOnPaper(sheet).outline(), axis=0).max() > 2.0 * LARGEST_PAGE_MM
    for output in (Output(), Output(roll_mm=914.4)):
        pages = one_piece_pages(sheet, output)
        assert len(pages) == 4  # key plan and three strips
        assert max(max(page.width_mm, page.height_mm) for page in pages) <= LARGEST_PAGE_MM
        content = pdf_bytes(pages, "x")
        first = " ".join(reader(content).pages[0].extract_text().split())
        assert "no page may be longer than 5080 mm (200 in); in strips to be joined" in first
        assert "3 strips" in first
        for page in (1, 2, 3):
            said = " ".join(reader(content).pages[page].extract_text().split())
            assert f"sheet {page + 1} of 4" in said
        assert "no page may be longer" in roll_words(sheet, output)


def test_strips_are_no_longer_than_they_need_to_be() -> None:
    """Three strips share the length: none is longer than its third, its overlap and its title."""
    sheet = stretched(26.0, 1.5)
    pages = one_piece_pages(sheet, Output(roll_mm=914.4))
    length = float(np.ptp(PanelOnPaper(sheet).outline(), axis=0).max())
    for page in pages[1:]:
        assert page.width_mm == 914.4
        assert page.height_mm < length / 3.0 + 10.0 + 100.0


@pytest.mark.parametrize("roll", [100.0, 6000.0, float("nan")])
def test_a_roll_that_cannot_be_is_refused(roll: float) -> None:
    with pytest.raises(BadPaperError):
        one_piece_pages(panel_sheet("left side"), Output(roll_mm=roll))


@pytest.mark.parametrize(("text", "words"), [("24", "610mm or 24in"), ("5in", "206 mm")])
def test_a_roll_typed_wrong_is_refused_with_the_reason(text: str, words: str) -> None:
    with pytest.raises(BadPaperError) as caught:
        roll_named(text)
    assert words in caught.value.reason

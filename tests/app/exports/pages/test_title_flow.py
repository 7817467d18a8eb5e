"""The title in columns over pages: nothing runs off, nothing is lost, all say who and what."""

import pytest

from app.exports.pages.panel_drawing import listed_words
from app.exports.pages.panel_on_paper import PanelOnPaper
from app.exports.pages.title import edge_rows, line_legend
from app.exports.pages.title_flow import titles_in_columns
from app.exports.words import fact_words
from tests.app.exports.sample_sheets import panel_sheet


@pytest.mark.parametrize(("wide", "high"), [(176.0, 263.0), (263.0, 176.0), (176.0, 130.0)])
def test_a_title_in_columns_stays_within_its_page_and_tells_all(wide: float, high: float) -> None:
    sheet = panel_sheet("left side")
    legend = line_legend(sheet, with_cut=True)
    blocks = titles_in_columns(PanelOnPaper(sheet), wide, high)
    told = ""
    for block in blocks:
        left, bottom, right, top = block.drawing.box
        assert block.height_mm <= high
        assert left >= -0.01
        assert right <= wide + 0.01
        assert bottom >= -high - 0.01
        assert top <= 0.01
        words = " ".join(text.text for text in block.drawing.texts)
        for each in ("LEFT SIDE", "MARK THIS FACE: INSIDE", "100 mm", "Shop aid"):
            assert each in words
        told += words + " "
    names = [words for _, words in legend]
    for row in (*fact_words(sheet), *names, *edge_rows(sheet), *listed_words(sheet)):
        assert " ".join(row.split()) in told
    assert (len(blocks) > 1) == (high < 150.0)


def test_no_column_of_a_title_holds_words_over_others() -> None:
    sheet = panel_sheet("left side")
    (block,) = titles_in_columns(PanelOnPaper(sheet), 263.0, 176.0)
    boxes = [text.box for text in block.drawing.texts]
    for at, one in enumerate(boxes):
        for other in boxes[at + 1 :]:
            apart = (
                one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            )
            assert apart, (one, other)

"""Break-ups side by side: one page, every figure told, nothing over anything else."""

from dataclasses import replace

import numpy as np
import pytest

from app.exports.drawing import Page
from app.exports.pages import (
    MOST_ON_A_PAGE,
    BreaksSheet,
    BreakUpShown,
    breaks_pages,
)
from app.job import HEADINGS, BreakUpRow
from tests.app.exports.pages.test_tape_table import FACTS, TANK, texts_of, words_of

ROW = BreakUpRow(
    "left, right and a long top strip", "5", "+12.3", "\u221213.2", "1.54 mm (.061 in)", "11,200",
    "1524 mm (60 15/16 in)", "1392 mm (15 15/16 in)", "15003 cm\u00b2 (2326 sq in)",
    "1541 mm (61 5/16 in)", "too large: left side, right side", "locked: top strip",
)  # fmt: skip
HALVED = replace(TANK, panel_of_face=(np.arange(len(TANK.faces)) % 2).astype(np.int64))


def page_of(count: int) -> Page:
    shown = [
        BreakUpShown(replace(ROW, name=f"{number} {ROW.name}"), HALVED) for number in range(count)
    ]
    (page,) = breaks_pages(BreaksSheet(FACTS, shown))
    return page


@pytest.mark.parametrize("count", [1, 6, MOST_ON_A_PAGE])
def test_every_break_up_stands_on_one_page_with_all_its_figures_and_two_pictures(
    count: int,
) -> None:
    page = page_of(count)
    words = words_of([page]).replace(" (", "(")
    for heading in HEADINGS:
        assert all(word in words for word in heading.split())
    for cell in ROW.cells:
        for word in cell.replace(" (", "(").split():
            assert words.count(word) >= count
    pictures = [p for placed in page.contents for p in placed.drawing.pictures]
    assert len(pictures) == 2 * count


@pytest.mark.parametrize("count", [1, MOST_ON_A_PAGE])
def test_nothing_is_written_over_anything_else_or_off_the_page(count: int) -> None:
    page = page_of(count)
    boxes = []
    for placed in page.contents:
        moved = placed.drawing.moved(placed.x, placed.y)
        left, bottom, right, top = moved.box
        assert (left, bottom) >= (9.9, 9.0)
        assert right <= page.width_mm - 9.9
        assert top <= page.height_mm - 9.9
        boxes += [np.array(text.box) for text in moved.texts]
    for first, one in enumerate(boxes):
        for other in boxes[first + 1 :]:
            apart = np.concatenate([one[:2] - other[2:], other[:2] - one[2:]])
            assert apart.max() > -0.25


def test_size_proof_what_figures_mean_and_the_caution_stand_below() -> None:
    words = words_of([page_of(3)])
    for told in ("SIZE PROVED", "for comparing only", "Shop aid, not an approval", "water first"):
        assert told in words


def test_small_print_is_no_smaller_than_a_shop_can_read() -> None:
    assert min(text.height_mm for text in texts_of([page_of(4)])) >= 2.5


@pytest.mark.parametrize("count", [0, MOST_ON_A_PAGE + 1])
def test_what_is_no_short_list_is_refused(count: int) -> None:
    with pytest.raises(ValueError, match="on a page"):
        page_of(count)

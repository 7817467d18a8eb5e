"""Pages that are not full size: nothing leaves its page, and a list goes on where one is full."""

import pytest

from app.exports.drawing import A4, Drawing
from app.exports.pages.reduced_page import (
    MARGIN_MM,
    WIDE_MM,
    column_names,
    flowed,
    list_head,
    numbered_pages,
    page_foot,
    reduced_page,
    room_mm,
    ruled_head,
    titled_pages,
)
from app.exports.pages.title import Cell, stacked
from tests.app.exports.sample_sheets import panel_sheet

JOB = panel_sheet("left side").job
NAMES = column_names(("no.", "gap"), (0.0, 30.0))
FOOT = page_foot(["Proved."], ["Take care."])


def row(height_mm: float) -> Cell:
    return Cell(Drawing(), height_mm)


def test_body_and_foot_just_meet_where_the_room_is_full() -> None:
    head = ruled_head(JOB, "TUNNEL", after="NOT FULL SIZE")
    body = row(room_mm(head, FOOT))
    placed = reduced_page(head, body, FOOT).contents
    assert placed[0].y == pytest.approx(A4[1] - MARGIN_MM)
    assert placed[1].y - body.height_mm == pytest.approx(placed[2].y)
    assert placed[2].y - FOOT.height_mm == pytest.approx(MARGIN_MM)


def test_a_page_on_its_side_has_its_own_room() -> None:
    head = list_head("BREAK-UPS", "", title_mm=4.5)
    upright, aside = room_mm(head, FOOT), room_mm(head, FOOT, size=A4[::-1])
    assert upright - aside == pytest.approx(A4[1] - A4[0])
    page = reduced_page(head, row(aside), FOOT, size=A4[::-1])
    assert (page.width_mm, page.height_mm) == A4[::-1]


def test_words_of_the_job_stand_below_a_title_and_warnings_stand_out() -> None:
    head = ruled_head(JOB, "TUNNEL", after="NOT FULL SIZE")
    title, below = head.drawing.texts
    assert title.text.startswith("TUNNEL  ")
    assert title.bold
    assert below.text.endswith("   NOT FULL SIZE")
    assert [text.text for text in FOOT.drawing.texts if text.bold] == ["Take care."]


def test_a_title_leaves_room_for_the_number_of_its_sheet() -> None:
    alone, numbered = (list_head("W" * 90, "", words) for words in ("", "sheet 2 of 3"))
    assert len(numbered.drawing.texts[0].text) < len(alone.drawing.texts[0].text)
    number = numbered.drawing.texts[1]
    assert (number.text, number.place[0], number.anchor) == ("sheet 2 of 3", WIDE_MM, "end")


def test_pages_of_more_than_one_title_are_numbered_through() -> None:
    groups = [[row(50.0)], [row(40.0), row(30.0)], [row(20.0)]]
    pages = titled_pages(JOB, ("CAPACITY", "WHERE FUEL LIES"), groups, FOOT)
    heads = [[text.text for text in page.contents[0].drawing.texts] for page in pages]
    assert [head[0].split("  ")[0] for head in heads] == ["CAPACITY", *2 * ["WHERE FUEL LIES"]]
    assert [head[1] for head in heads] == [f"sheet {at} of 3" for at in (1, 2, 3)]


def test_a_list_goes_on_under_its_names_and_no_row_is_lost() -> None:
    rows = [row(9.0 + k % 3) for k in range(60)]
    groups = flowed([row(120.0), NAMES], rows, NAMES, FOOT)
    assert len(groups) > 2
    assert [cell for group in groups for cell in group if cell in rows] == rows
    assert all(group[0] is NAMES for group in groups[1:])
    told: list[tuple[int, str]] = []

    def head_of(at: int, numbered: str) -> Cell:
        told.append((at, numbered))
        return list_head("GAUGES", "", numbered)

    pages = numbered_pages(groups, head_of, FOOT)
    assert told[1] == (1, f"sheet 2 of {len(groups)}")
    for page, group in zip(pages, groups, strict=True):
        _, body, foot = page.contents
        assert body.y - stacked(group).height_mm >= foot.y

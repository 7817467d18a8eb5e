"""The tape table on paper: every value told whole, in its place, with its picture and a box."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from app.exports import JobFacts, ProofTape, TankModel
from app.exports.drawing import Drawing, Page, Text
from app.exports.pages.tape_picture import TapePainter
from app.exports.pages.tape_table import TapeSheet, tape_table_pages
from app.exports.pages.tape_words import heading_words, place_words, where_words
from app.units import Fractions, parse_length
from geometry.gauges import TapePlace, TapeTable, TapeValue
from tests.bodies import dome

FACTS = JobFacts(
    job="Brackwater 225 scrambler", alloy="3003-H14", thickness_mm=1.6, revision="2",
    dated=date(2026, 11, 26), scan_unit="millimetres",
    tapes=(ProofTape(537.0, 536.9), ProofTape(279.5, 279.4)), size_proved=True,
    surface="Blank on the middle of the metal",
)  # fmt: skip
BODY = dome(200.0, 1.4, 16)
TANK = TankModel(
    BODY.vertices, BODY.faces, np.zeros(len(BODY.faces), np.int64), ("lid",),
    np.array([1.0, 0, 0]), np.array([0.0, 0, 1]),
)  # fmt: skip


def value(number: int, way: str = "over", on: str = "line") -> TapeValue:
    turn = np.linspace(-1.0, 1.0, 60)
    line = 200.0 * np.stack([np.sin(turn), 0.02 * number + 0 * turn, np.cos(turn)], axis=1)
    places = [
        TapePlace(on, 0, end, end + np.array([200.0, 0, 0]), np.array([1.0, 0.0, 0.0]))  # type: ignore[arg-type]
        for end in (line[0].copy(), line[-1].copy())
    ]
    return TapeValue(
        way=way,  # type: ignore[arg-type]
        places=(places[0], places[1]),
        reading="least",
        line=line,
        length_mm=412.03 + number,
        limit_mm=1.0,
        moved_mm=0.4,
        spread=np.eye(3) / 3.0,
    )


def table(count: int = 10, **changes: object) -> TapeTable:
    values = tuple(value(number) for number in range(count))
    made = TapeTable(values, 10, np.full(3, 1 / 3), True)
    return replace(made, **changes)  # type: ignore[arg-type]


def texts_of(pages: list[Page]) -> list[Text]:
    return [text for page in pages for placed in page.contents for text in placed.drawing.texts]


def words_of(pages: list[Page]) -> str:
    return " ".join(text.text for text in texts_of(pages))


PAGES = tape_table_pages(TapeSheet(FACTS, TANK, table()))


def test_each_value_is_told_in_mm_and_as_a_fraction_with_what_rounding_leaves() -> None:
    """The fraction and its rest, read back, are the length: to a thousandth of an inch."""
    told = [text.text for text in texts_of(PAGES)]
    for number in range(10):
        length = 412.03 + number
        assert f"{length:.1f}".removesuffix(".0") + " mm" in told
        assert any(abs(_read(words) - length) < 0.015 for words in told if " in" in words)


def _read(words: str) -> float:
    nearest, _, rest = words.partition(" in")
    try:
        length = parse_length(f"{nearest} in")
    except ValueError:
        return np.inf
    if not rest.split():
        return length
    sign = {"and": 1.0, "less": -1.0}.get(rest.split()[0])
    return np.inf if sign is None else length + sign * float(rest.split()[1]) * 25.4


def test_every_row_has_a_number_a_picture_a_blank_box_and_a_limit() -> None:
    placed = [each.drawing for page in PAGES for each in page.contents]
    assert sum(len(drawing.pictures) for drawing in placed) == 10
    boxes = [line for drawing in placed for line in drawing.lines if line.closed]
    assert len(boxes) == 10
    for box in boxes:
        assert np.ptp(box.points, axis=0).min() > 10.0  # room to write in
    words = [text.text for text in texts_of(PAGES)]
    assert [word for word in words if word.isdigit()] == [str(n) for n in range(1, 11)]
    assert words.count("\u00b11 mm") == 10


def test_nothing_is_written_over_anything_else_or_off_the_page() -> None:
    for page in PAGES:
        boxes = []
        for placed in page.contents:
            moved = placed.drawing.moved(placed.x, placed.y)
            assert _within(moved, page)
            boxes += [np.array(text.box) for text in moved.texts]
        for first, one in enumerate(boxes):
            for other in boxes[first + 1 :]:
                apart = np.concatenate([one[:2] - other[2:], other[:2] - one[2:]])
                assert apart.max() > -0.25


def _within(drawing: Drawing, page: Page) -> bool:
    left, bottom, right, top = drawing.box
    return left >= 9.9 and bottom >= 9.0 and right <= page.width_mm - 9.9 and top <= 287.1


def test_small_print_is_no_smaller_than_a_shop_can_read() -> None:
    assert min(text.height_mm for text in texts_of(PAGES) if text.text != "FRONT") >= 2.5


def test_inches_come_first_for_who_reads_inches() -> None:
    pages = tape_table_pages(
        TapeSheet(replace(FACTS, show="in"), TANK, table(1), Fractions(fit=64))
    )
    big = [text.text for text in texts_of(pages) if text.height_mm == 3.6]
    assert big == ["16 7/32 in"]  # 16.2217 in is 1.2 thousandths over 14/64


def test_fewer_than_asked_is_said_and_so_is_none() -> None:
    assert "Only 3 of 10" in words_of(tape_table_pages(TapeSheet(FACTS, TANK, table(3))))
    assert "No length could be found" in words_of(
        tape_table_pages(TapeSheet(FACTS, TANK, table(0)))
    )


def test_without_front_no_side_is_called_by_a_name_it_may_not_have() -> None:
    unnamed = table(is_named=False)
    for each in unnamed.values:
        words = " ".join(where_words(each, unnamed))
        assert not {"rear", "front", "left", "right"} & set(words.replace(",", " ").split())


@pytest.mark.parametrize(
    ("places", "spread", "heading", "words"),
    [
        (((300.0, 0, 220), (320.0, 0, 0)), (0.0, 0.6, 0.4), "RIGHT ROUND", "Over the top 300 mm"),
        (((550.0, 0, 130), (5.0, 0, 50)), (0.7, 0.3, 0.0), "ROUND THE WAIST", "130 mm above"),
        (
            ((300.0, 0.5, 220), (300.0, 0.5, 0)),
            (0.7, 0.0, 0.3),
            "RIGHT ROUND, LENGTHWISE",
            "on the centre line",
        ),
        (
            ((300.0, -60, 220), (300.0, -60, 0)),
            (0.7, 0.0, 0.3),
            "RIGHT ROUND, LENGTHWISE",
            "60 mm to the right of the centre line",
        ),
    ],
)
def test_a_tape_right_round_is_told_by_the_way_it_runs(
    places: tuple[tuple[float, ...], ...],
    spread: tuple[float, ...],
    heading: str,
    words: str,
) -> None:
    ends = [TapePlace("skin", -1, np.array(place), np.array(place)) for place in places]
    made = replace(value(0, "round"), places=(ends[0], ends[1]), spread=np.diag(np.array(spread)))
    assert heading_words(made) == heading
    assert words in where_words(made, table())[0]


@pytest.mark.parametrize(
    ("beside", "words"),
    [
        ((1.0, 0.0, 0.0), "the front edge of the round hole"),
        ((-0.7, 0.7, 0.0), "the rear left edge of the round hole"),
        ((0.0, -1.0, 0.0), "the right edge of the round hole"),
    ],
)
def test_the_edge_of_a_hole_is_called_by_its_side(
    beside: tuple[float, float, float], words: str
) -> None:
    place = TapePlace("hole", 0, np.zeros(3), np.zeros(3), np.array(beside))
    assert place_words(place, table()) == words


def test_a_tape_is_black_where_it_is_seen_and_broken_where_metal_hides_it() -> None:
    """Over a dome seen from its side: the half of a ring behind it has gaps, the near one none."""
    turn = np.linspace(0.0, 2.0 * np.pi, 400)
    ring = 200.0 * np.stack(
        [np.sin(1.2) * np.cos(turn), np.sin(1.2) * np.sin(turn), np.cos(1.2) + 0 * turn], axis=1
    )
    picture = TapePainter(TANK, 36.0, 22.0).picture(ring).pixels[:, :, 0]
    black = (picture < 10).sum(axis=0)
    assert black.sum() > 300
    assert (picture[picture > 10] > 80).all()


def test_the_same_table_is_the_same_page() -> None:
    again = tape_table_pages(TapeSheet(FACTS, TANK, table()))
    assert words_of(again) == words_of(PAGES)
    first = PAGES[0].contents[0].drawing.pictures[0].pixels
    assert (again[0].contents[0].drawing.pictures[0].pixels == first).all()

"""Papers by name and size, and a printer's correction from what its check page measures."""

import math
import pickle
from itertools import pairwise

import pytest

from app.exports.output import (
    A3,
    A4,
    PAPERS,
    BadPaperError,
    Correction,
    Output,
    PrinterFarOutError,
    checked_lengths,
    correction_from,
    paper_named,
)


def test_iso_papers_are_halves_of_one_another() -> None:
    """ISO 216: A0 has 1 m2 and sides as 1 to the root of 2; each next is half, floored to mm.

    A0 = 841 x 1189, A1 = 594 x 841, A2 = 420 x 594, A3 = 297 x 420, A4 = 210 x 297.
    """
    sizes = [paper.size for paper in PAPERS if paper.name.startswith("A")]
    sizes.sort(reverse=True)
    assert sizes[0] == (841.0, 1189.0)
    assert math.prod(sizes[0]) == pytest.approx(1e6, rel=1e-3)
    for larger, smaller in pairwise(sizes):
        assert smaller == (larger[1] // 2, larger[0])


def test_inch_papers_are_what_their_inches_say() -> None:
    """ANSI/ASME Y14.1: letter 8 1/2 x 11 in (A), tabloid 11 x 17 in (B); legal 8 1/2 x 14 in."""
    for text, inches in (("letter", (8.5, 11)), ("US Tabloid", (11, 17)), ("legal", (8.5, 14))):
        assert paper_named(text).size == pytest.approx([25.4 * side for side in inches], abs=1e-9)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("500x700mm", (500.0, 700.0)),
        ("500 \u00d7 700 MM", (500.0, 700.0)),
        ("19x25in", (482.6, 635.0)),
        ("8.5inx11in", (215.9, 279.4)),
        ("A4", (210.0, 297.0)),
    ],
)
def test_a_paper_of_any_size_is_known_by_its_sides(text: str, size: tuple[float, float]) -> None:
    assert paper_named(text).size == size


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("foolscap", "known are a4"),
        ("500x700", "such as 500x700mm"),
        ("500mmx20in", "same unit"),
        ("200x300mm", "206 x 270"),
        ("260x260mm", "206 x 270"),
        ("400x6000mm", "5080 mm"),
        ("", "known are"),
        ("-5x700mm", "known are"),
    ],
)
def test_a_paper_that_cannot_be_is_refused_with_the_reason(text: str, words: str) -> None:
    with pytest.raises(BadPaperError) as caught:
        paper_named(text)
    assert caught.value.text == text
    assert words in caught.value.reason


def test_a_paper_found_by_size_is_found_again_by_its_key() -> None:
    for text in ("a4", "letter", "tabloid", "500x700mm", "12x18in"):
        paper = paper_named(text)
        assert paper.key == text
        assert paper_named(paper.key) == paper


def test_bars_are_a_quarter_metre_long_where_the_paper_takes_it() -> None:
    for paper in PAPERS:
        level, upright = checked_lengths(paper)
        assert upright >= 250.0
        assert level >= min(250.0, min(paper.size) - 30.0)
        assert level <= min(paper.size) - 20.0


def test_a_correction_undoes_what_the_printer_does() -> None:
    """Drawn, corrected, printed: back at the drawn length, to rounding."""
    drawn = checked_lengths(A4)
    found = correction_from(0.987 * drawn[0], 1.004 * drawn[1], drawn)
    assert 600.0 * found.x * 0.987 == pytest.approx(600.0, abs=1e-9)
    assert 600.0 * found.y * 1.004 == pytest.approx(600.0, abs=1e-9)


def test_a_check_page_printed_corrected_is_corrected_further() -> None:
    """A first reading 0.3 mm off is put right by a second on the corrected page."""
    drawn = checked_lengths(A3)
    first = correction_from(0.99 * drawn[0] + 0.3, 0.99 * drawn[1] - 0.3, drawn)
    second = correction_from(
        0.99 * first.x * drawn[0], 0.99 * first.y * drawn[1], drawn, carried=first
    )
    assert (second.x, second.y) == pytest.approx((1.0 / 0.99, 1.0 / 0.99), abs=1e-12)


@pytest.mark.parametrize(
    ("measured", "way"),
    [
        ((184.0, 270.0), "level"),
        ((190.0, 279.0), "upright"),
        ((0.0, 270.0), "level"),
        ((190.0, -1.0), "upright"),
        ((math.nan, 270.0), "level"),
        ((190.0, math.inf), "upright"),
    ],
)
def test_a_printer_out_by_more_than_three_in_a_hundred_is_refused(
    measured: tuple[float, float], way: str
) -> None:
    with pytest.raises(PrinterFarOutError) as caught:
        correction_from(*measured, checked_lengths(A4))
    assert caught.value.way == way
    assert caught.value.drawn_mm == checked_lengths(A4)[way == "upright"]


def test_what_is_left_alone_gives_todays_files_and_travels_between_processes() -> None:
    plain = Output()
    assert [paper.key for paper in plain.papers] == ["a4", "letter"]
    assert plain.correction == Correction(1.0, 1.0)
    assert plain.correction.is_none
    assert pickle.loads(pickle.dumps(plain)) == plain

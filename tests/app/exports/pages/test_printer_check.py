"""A printer that is not true, from its check page to a reprint that is."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from app.exports import PanelSheet
from app.exports.drawing import Meaning
from app.exports.files import pdf_bytes
from app.exports.output import (
    A3,
    A4,
    LETTER,
    Correction,
    Output,
    Paper,
    checked_lengths,
    correction_from,
    paper_named,
    roll_paper,
)
from app.exports.pages import check_pages, one_piece_pages, pattern_drawing, tiled
from app.exports.pages.tiling import FILING_MM, MARGIN_MM
from geometry.arrays import FloatArray
from tests.app.exports.reading_back import MM, Stroked, closed_length, reader, strokes
from tests.app.exports.sample_sheets import panel_sheet

PRINTER = (0.987, 1.004)
BAR_MM, NET_MM = 0.26, 0.5


def with_width(lines: list[Stroked], width_mm: float) -> list[Stroked]:
    return [line for line in lines if abs(line.width - width_mm) < 1e-4 and not line.dashes]


def printed(content: bytes, page_number: int, paper: Paper) -> list[Stroked]:
    """Return what a printer out of true puts on paper: across the paper and along it.

    A page on its side is turned by the printer, so its width runs along the paper.
    """
    box = reader(content).pages[page_number].mediabox
    lies = (float(box.width) > float(box.height)) != (paper.width_mm > paper.height_mm)
    by = np.array(PRINTER[::-1] if lies else PRINTER)
    return [replace(line, points=line.points * by) for line in strokes(content, page_number)]


def first_tile(content: bytes) -> int:
    """Return which page is the first tile."""
    texts = [page.extract_text() for page in reader(content).pages]
    return next(index for index, text in enumerate(texts) if "TILE A1" in text)


def drawn_net(sheet: PanelSheet) -> FloatArray:
    """Return points along the net line as it is drawn."""
    lines = pattern_drawing(sheet).lines
    (net,) = [line.points for line in lines if line.meaning is Meaning.NET and line.closed]
    return net


def long_bars(lines: list[Stroked]) -> tuple[float, float]:
    """Return the length of the longest level and the longest upright bar."""
    sizes = np.array([np.ptp(line.points, axis=0) for line in with_width(lines, BAR_MM)])
    return float(sizes[:, 0].max()), float(sizes[:, 1].max())


@pytest.mark.parametrize("paper", [A4, A3, LETTER, paper_named("700x500mm")])
def test_the_check_page_has_bars_as_long_as_said_both_ways(paper: Paper) -> None:
    content = pdf_bytes(check_pages(Output(papers=(paper,))), "x")
    assert long_bars(strokes(content)) == pytest.approx(checked_lengths(paper), abs=1e-3)
    box = reader(content).pages[0].mediabox
    assert (float(box.width) * MM, float(box.height) * MM) == pytest.approx(paper.size, abs=1e-3)
    text = " ".join(reader(content).pages[0].extract_text().split())
    for words in (
        f"PRINTER CHECK for {paper.name}",
        "100 % (actual size)",
        "No printer correction",
    ):
        assert words in text
    for length in checked_lengths(paper):
        assert f"Drawn: {length:.0f} mm" in text


def test_the_small_ticks_tell_tenths_as_a_vernier_does() -> None:
    """With the end at n + f on a rule, tick k stands at n + f - 1.1 k: whole where f = k / 10."""
    content = pdf_bytes(check_pages(Output(papers=(A4,))), "x")
    level = checked_lengths(A4)[0]
    lines = with_width(strokes(content), BAR_MM)
    (bar,) = [line for line in lines if np.ptp(line.points[:, 0]) == pytest.approx(level, abs=1e-3)]
    start, height = bar.points.min(axis=0)
    ticks = [
        float(line.points[:, 0].mean() - start)
        for line in lines
        if np.ptp(line.points[:, 0]) < 1e-6
        and line.points[:, 1].max() == pytest.approx(height, abs=1e-3)
    ]
    ticks = sorted((tick for tick in ticks if tick < level - 1e-3), reverse=True)
    assert len(ticks) == 10
    for tenths in range(10):
        end = level + tenths / 10.0
        meets = [abs((end - level + tick) % 1.0 - 0.5) for tick in ticks]
        assert int(np.argmax(meets)) + 1 == (tenths or 10)


def test_each_paper_and_the_roll_get_a_check_page_of_their_own() -> None:
    pages = check_pages(Output(papers=(A4, LETTER), roll_mm=610.0))
    assert [page.width_mm for page in pages] == [210.0, 215.9, 610.0]
    content = pdf_bytes(pages, "x")
    for index, paper in enumerate((A4, LETTER, roll_paper(610.0))):
        assert long_bars(strokes(content, index)) == pytest.approx(checked_lengths(paper), abs=1e-3)
        for line in strokes(content, index):
            assert line.points.min() > 4.0
            assert (line.points < np.array(paper.size) - 4.0).all()
    texts = reader(content).pages
    assert "roll 610 mm" in texts[2].extract_text()
    assert [f"sheet {k} of 3" in texts[k - 1].extract_text() for k in (1, 2, 3)] == [True] * 3


def measured_correction(paper: Paper) -> Correction:
    """Return the correction from a check page printed and read to a tenth of a millimetre."""
    content = pdf_bytes(check_pages(Output(papers=(paper,))), "x")
    level, upright = (round(length, 1) for length in long_bars(printed(content, 0, paper)))
    return correction_from(level, upright, checked_lengths(paper))


@pytest.mark.parametrize("paper", [A4, A3])
def test_the_reprint_is_right_within_a_quarter_millimetre_in_600(paper: Paper) -> None:
    """Bars, the net line on each tile and the crosshairs, printed by a printer 13 mm short in 1 m.

    A reading to 0.1 mm is off by 0.05 at most: 600 / 190 * 0.05 = 0.16 mm in 600 mm.
    """
    found = measured_correction(paper)
    sheet = panel_sheet("left side")
    content = pdf_bytes(tiled(sheet, paper, Output(correction=found, turn=False)), "x")
    exact = np.ptp(drawn_net(sheet), axis=0)
    for page in range(first_tile(content), len(reader(content).pages)):
        lines = printed(content, page, paper)
        (net,) = [line for line in with_width(lines, NET_MM) if line.closed]
        wrong = np.ptp(net.points, axis=0) / exact - 1.0
        assert np.abs(600.0 * wrong).max() < 0.25
        bars = [np.ptp(line.points, axis=0) for line in with_width(lines, BAR_MM)]
        for axis in (0, 1):
            for true in (100.0, 101.6):
                off = min(abs(bar[axis] - true) for bar in bars)
                assert off < 0.25 * true / 600.0
    uncorrected = pdf_bytes(tiled(sheet, paper, Output(turn=False)), "x")
    (net,) = [
        line
        for line in with_width(printed(uncorrected, first_tile(uncorrected), paper), NET_MM)
        if line.closed
    ]
    assert np.abs(600.0 * (np.ptp(net.points, axis=0) / exact - 1.0)).max() > 2.0


def test_a_second_reading_on_the_corrected_check_page_changes_next_to_nothing() -> None:
    found = measured_correction(A4)
    content = pdf_bytes(check_pages(Output(papers=(A4,), correction=found)), "x")
    bars = long_bars(printed(content, 0, A4))
    assert bars == pytest.approx(checked_lengths(A4), abs=0.06)
    assert "Printer correction: across x 1.01" in reader(content).pages[0].extract_text()


def test_the_page_keeps_its_size_and_its_margins_whatever_the_correction() -> None:
    """What is drawn larger takes none of the margin the printer cannot reach."""
    sheet = panel_sheet("left side")
    for by in (Correction(), Correction(1.029, 1.029), Correction(0.972, 0.972)):
        pages = tiled(sheet, A4, Output(correction=by))
        for page in pages:
            assert sorted((page.width_mm, page.height_mm)) == sorted(A4.size)
        tiles = [page for page in pages if page.contents[0].clip is not None]
        assert len(tiles) >= 3
        for page in tiles:
            clip = page.contents[0].clip
            assert clip is not None
            assert clip[0] == FILING_MM
            assert clip[2:] == (page.width_mm - MARGIN_MM, page.height_mm - MARGIN_MM)
            for placed in page.contents[2:]:
                left, bottom, right, top = placed.drawing.moved(placed.x, placed.y).box
                assert min(left, bottom) > MARGIN_MM - 1.0
                assert right < page.width_mm - MARGIN_MM + 1.0
                assert top < page.height_mm - MARGIN_MM + 1.0
        words = reader(pdf_bytes(pages, "x")).pages
        said = "No printer correction" if by.is_none else "Printer correction: across x"
        assert all(said in " ".join(page.extract_text().split()) for page in words)


def test_crosshairs_and_overlap_are_corrected_too() -> None:
    """From crosshair to crosshair a tile is its cell, printed; the overlap is 10 mm."""
    by = Correction(1.0 / PRINTER[0], 1.0 / PRINTER[1])
    sheet = panel_sheet("left side")
    pages = tiled(sheet, A4, Output(correction=by, turn=False))
    content = pdf_bytes(pages, "x")
    for page in range(first_tile(content), len(pages)):
        crosses = [
            line.points.mean(axis=0)
            for line in with_width(printed(content, page, A4), 0.25)
            if len(line.points) == 2
            and np.ptp(line.points, axis=0).max() == pytest.approx(10.0, abs=1e-3)
        ]
        xs = distinct([float(place[0]) for place in crosses])
        shown = pages[page].contents[0].clip
        assert shown is not None
        lies = pages[page].width_mm > pages[page].height_mm
        width = (shown[2] - shown[0]) * (PRINTER[1] if lies else PRINTER[0])
        assert float(np.diff(xs[:2])[0]) == pytest.approx(width - 10.0, abs=2e-3)


def distinct(values: list[float]) -> FloatArray:
    ordered = sorted(values)
    kept = ordered[:1] + [b for a, b in pairwise(ordered) if b - a > 0.01]
    return np.array(kept)


def test_the_one_piece_page_is_corrected_across_and_up() -> None:
    by = Correction(1.01, 0.99)
    sheet = panel_sheet("left side")
    (page,) = one_piece_pages(sheet, Output(correction=by, turn=False))
    content = pdf_bytes([page], "x")
    (net,) = [line for line in with_width(strokes(content), NET_MM) if line.closed]
    assert np.ptp(net.points, axis=0) == pytest.approx(
        np.ptp(drawn_net(sheet), axis=0) * [1.01, 0.99], abs=2e-3
    )
    back = net.points / [1.01, 0.99]
    assert closed_length(back) == pytest.approx(closed_length(drawn_net(sheet)), abs=2e-3)

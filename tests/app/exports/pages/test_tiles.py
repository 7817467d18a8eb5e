"""Tiles read back with pypdf: papers, words, bars, net line, joins, printer correction."""

import numpy as np
import pytest

from app.exports.files import pdf_bytes
from app.exports.output import A3, A4, LETTER, TABLOID, Output, Paper, paper_named
from app.exports.pages import one_piece, tiled
from app.exports.pages.tiling import OVERLAP_MM
from tests.app.exports.reading_back import MM, reader, strokes
from tests.app.exports.sample_sheets import panel_sheet

BAR_MM = 0.26
NET_MM = 0.5

EVERY_PAGE = [
    "Brackwater 225 scrambler",
    "LEFT SIDE",
    "MARK THIS FACE: INSIDE",
    "MAKES THE LEFT",
    "FRONT",
    "3003-H14 1.6 mm (.063 in)",
    "2026-03-02",
    "SIZE PROVED by 2 tapes",
    "middle of the metal",
    "100 mm",
    "4 in",
    "Print at 100 %, never fit to page",
    "Shop aid, not an approval.",
]


@pytest.fixture(scope="module")
def on_a4() -> bytes:
    return pdf_bytes(tiled(panel_sheet("left side"), A4, Output(turn=False)), "left side")


@pytest.mark.parametrize("paper", [A4, A3, LETTER, TABLOID, paper_named("500x400mm")])
def test_tiles_are_all_of_the_paper_s_size_and_all_say_everything(paper: Paper) -> None:
    document = reader(pdf_bytes(tiled(panel_sheet("left side"), paper), "x"))
    assert document.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    count = len(document.pages)
    for index, page in enumerate(document.pages):
        sides = sorted((float(page.mediabox.width) * MM, float(page.mediabox.height) * MM))
        assert sides == pytest.approx(sorted(paper.size), abs=1e-3)
        text = " ".join(page.extract_text().split())
        for words in [*EVERY_PAGE, f"sheet {index + 1} of {count}"]:
            assert words in text, (words, text)
    first = document.pages[0].extract_text()
    assert f"KEY PLAN, sheet 1 of {count}: not full size. {paper.name}." in first


def test_tiles_laid_join_over_join_give_the_whole_net_line(on_a4: bytes) -> None:
    """Each tile's net line, moved by its cell, is the same line to 0.001 mm."""
    sheet = panel_sheet("left side")
    (net,) = (
        found.points
        for found in strokes(pdf_bytes([one_piece(sheet)], "whole"))
        if found.closed and abs(found.width - NET_MM) < 1e-4
    )
    shifts = []
    for page in range(1, len(reader(on_a4).pages)):
        (line,) = (
            found
            for found in strokes(on_a4, page)
            if found.closed and abs(found.width - NET_MM) < 1e-4 and len(found.points) == len(net)
        )
        shift = line.points - net
        assert np.ptp(shift, axis=0).max() < 1e-3
        shifts.append(shift.mean(axis=0))
    steps = np.abs(np.diff(np.array(shifts), axis=0))
    assert len(shifts) == 3
    cell = 210.0 - 30.0 - OVERLAP_MM
    assert steps == pytest.approx(np.array([[cell, 0.0]] * 2), abs=1e-3)

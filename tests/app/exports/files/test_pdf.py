"""Pages read back with pypdf and measured."""

import hashlib
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.exports import PageTooLargeError
from app.exports.drawing.drawing import Drawing, Meaning, Text, straight
from app.exports.drawing.page import Page, Placed
from app.exports.drawing.strokes import STROKES
from app.exports.files.pdf import pdf_bytes
from app.exports.pages import one_piece
from app.exports.pages.panel_drawing import pattern_drawing
from geometry.pattern import dress, outline_curves
from tests.app.exports.reading_back import MM, Stroked, reader, signed_area, strokes
from tests.app.exports.sample_sheets import cut_panel, panel_sheet

CAUTION = "Shop aid, not an approval. Check fit and safety on the machine; follow local code."
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
]


def _drawn(content: bytes, meaning: Meaning, page: int = 0) -> list[Stroked]:
    stroke = STROKES[meaning]
    return [
        line
        for line in strokes(content, page)
        if abs(line.width - stroke.width_mm) < 1e-4 and len(line.dashes) == len(stroke.dashes)
    ]


@pytest.fixture(scope="module")
def left() -> bytes:
    return pdf_bytes([one_piece(panel_sheet("left side"))], "left side")


def test_net_and_trim_line_on_paper_are_as_long_and_as_large_as_computed(left: bytes) -> None:
    """Places are written to six figures: under 0.0002 mm each in a page of 500 mm."""
    curves = outline_curves(panel_sheet("left side").pattern, "arcs")
    assert curves.trim is not None
    for meaning, curve in ((Meaning.NET, curves.net.curve), (Meaning.CUT, curves.trim.curve)):
        (line,) = [found for found in _drawn(left, meaning) if found.closed]
        assert line.length == pytest.approx(curve.length, abs=1e-3)
        exact = curve.sampled(1e-4)
        assert abs(signed_area(line.points)) == pytest.approx(signed_area(exact), abs=0.5)
        low, high = line.points.min(axis=0), line.points.max(axis=0)
        assert high - low == pytest.approx(
            np.ptp(exact, axis=0), abs=5e-3
        )  # read at 24 places each


def test_a_page_marked_inside_is_the_mirror_of_one_marked_outside(left: bytes) -> None:
    """Seen from inside the net runs clockwise; points match u -> -u after centring.

    Both pages round places to 0.0002 mm.
    """
    outside = pdf_bytes([one_piece(panel_sheet("left side", marked_face="outside"))], "x")
    (mirrored,) = (line for line in _drawn(left, Meaning.NET) if line.closed)
    (straight_on,) = (line for line in _drawn(outside, Meaning.NET) if line.closed)
    assert signed_area(mirrored.points) < 0.0 < signed_area(straight_on.points)
    one = (mirrored.points - mirrored.points.mean(axis=0)) * [-1.0, 1.0]
    two = straight_on.points - straight_on.points.mean(axis=0)
    assert np.abs(one - two).max() < 5e-4


def test_the_page_is_as_large_as_its_drawing_needs_and_asks_for_no_scaling(left: bytes) -> None:
    document = reader(left)
    (page,) = document.pages
    width, height = float(page.mediabox.width) * MM, float(page.mediabox.height) * MM
    for line in strokes(left):
        assert line.points.min() > 3.0
        assert (line.points < [width - 3.0, height - 3.0]).all()
    catalogue = document.trailer["/Root"]
    assert catalogue["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    assert "/UserUnit" not in page


def test_the_one_piece_page_says_everything(left: bytes) -> None:
    text = " ".join(reader(left).pages[0].extract_text().split())
    for words in [*EVERY_PAGE, CAUTION, "NOT SCANNED - FILLED BY GUESS", "FULL SIZE 1:1", "A8"]:
        assert words in text, words


def test_only_embedded_fonts_are_listed(left: bytes) -> None:
    fonts = reader(left).pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    assert len(fonts) >= 2
    for name in fonts:
        font = fonts[name].get_object()
        assert "/FontFile2" in font["/FontDescriptor"].get_object()
        assert "DejaVuSansCondensed" in font["/BaseFont"]


def test_text_never_crosses_net_or_trim_nor_reads_upside_down() -> None:
    for name in ("left side", "top strip", "right side"):
        drawing = pattern_drawing(panel_sheet(name))
        barriers = [
            shapely.LinearRing(line.points)
            for line in drawing.lines
            if line.meaning in {Meaning.NET, Meaning.CUT}
        ]
        assert len(barriers) == 2
        for text in drawing.texts:
            assert -90.0 < text.angle_deg <= 90.0
            box = shapely.Polygon(text.outline)
            assert not any(box.intersects(line) for line in barriers), text.text


def test_texts_on_the_blank_do_not_cover_each_other() -> None:
    for name in ("left side", "top strip", "right side"):
        texts = pattern_drawing(panel_sheet(name)).texts
        boxes = [shapely.Polygon(text.outline).buffer(-0.4) for text in texts]
        tree = shapely.STRtree(boxes)
        pairs = [pair for pair in tree.query(boxes, predicate="intersects").T if pair[0] < pair[1]]
        assert [(texts[a].text, texts[b].text) for a, b in pairs] == []


@pytest.mark.parametrize("size", [1.0, 0.3, 0.13])
def test_every_blank_over_fifty_millimetres_carries_its_label(size: float) -> None:
    """The smallest here is 60 x 23 mm inside its net line."""
    sheet = panel_sheet("left side")
    small = replace(
        sheet.flat,  # type: ignore[type-var]
        flat_vertices=sheet.flat.flat_vertices * size,
        vertices=sheet.flat.vertices * size,
    )
    little = replace(sheet, flat=small, pattern=dress(small, cut_panel("left side")))
    words = {text.text for text in pattern_drawing(little).texts}
    assert {"LEFT SIDE", "MARK THIS FACE: INSIDE", "MAKES THE LEFT SIDE", "FRONT"} <= words


def test_every_witness_mark_has_its_number_beside_it() -> None:
    for name in ("left side", "top strip", "right side"):
        sheet = panel_sheet(name)
        texts = {text.text: text for text in pattern_drawing(sheet).texts}
        for mark in sheet.pattern.marks:
            inner = mark.line[1] * [-1.0, 1.0]
            assert np.linalg.norm(np.array(texts[mark.label].place) - inner) < 16.0


def test_without_proof_no_cut_line_is_drawn_and_the_page_says_so() -> None:
    sheet = panel_sheet("left side", size_proved=False, tapes=())
    content = pdf_bytes([one_piece(sheet)], "x")
    assert _drawn(content, Meaning.CUT) == []
    text = reader(content).pages[0].extract_text()
    assert "SIZE NOT TAPED" in text
    assert "NO CUT LINE" in text
    assert "TRIM line" not in text


def test_a_blank_that_is_not_settled_is_told_without_figures_that_mean_nothing() -> None:
    sheet = panel_sheet("left side")
    bad = replace(sheet, flat=replace(sheet.flat, converged=False))  # type: ignore[type-var]
    for settled, one in ((True, sheet), (False, bad)):
        rows = reader(pdf_bytes([one_piece(one)], "x")).pages[0].extract_text()
        words = " ".join(rows.split())
        assert ("Most stretch" in words) == settled
        assert ("Thinnest:" in words) == settled
        assert ("how thin it ends is not known" in words) == (not settled)


def test_without_a_datum_no_arrow_to_front_is_drawn() -> None:
    content = pdf_bytes([one_piece(replace(panel_sheet("left side"), front_along_u=False))], "x")
    assert "FRONT NOT SET" in reader(content).pages[0].extract_text()


def test_a_page_larger_than_viewers_open_is_refused_with_its_size() -> None:
    page = Page(5200.0, 300.0, (Placed(Drawing((straight(0, 0, 10, 10),))),))
    with pytest.raises(PageTooLargeError) as caught:
        pdf_bytes([page], "x")
    assert (caught.value.width_mm, caught.value.limit_mm) == (5200.0, 5080.0)


def test_a_character_the_font_lacks_is_printed_as_a_box_not_lost() -> None:
    page = Page(100.0, 50.0, (Placed(Drawing(texts=(Text("tank \u6f22 1/2 \u00d8", (5, 5), 3),))),))
    assert "tank \u25a1 1/2 \u00d8" in reader(pdf_bytes([page], "x")).pages[0].extract_text()


def test_the_same_sheet_gives_the_same_bytes_also_in_another_process(left: bytes) -> None:
    again = pdf_bytes([one_piece(panel_sheet("left side"))], "left side")
    assert again == left
    code = (
        "import hashlib; from app.exports.files.pdf import pdf_bytes;"
        "from app.exports.pages import one_piece;"
        "from tests.app.exports.sample_sheets import panel_sheet;"
        "print(hashlib.sha256(pdf_bytes([one_piece(panel_sheet('left side'))], 'left side'))"
        ".hexdigest())"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    assert result.stdout.strip() == hashlib.sha256(left).hexdigest()

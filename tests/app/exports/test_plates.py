"""Plates on paper and in cutting files: true to size, labelled, cut only where size is proved."""

import io

import ezdxf.filemanagement
import numpy as np
import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import A4, Output, plate_file_names, plate_files, sheaves_of_plate
from app.exports.drawing import Meaning, Page
from app.exports.pages.laid_on_paper import on_paper
from app.exports.pages.one_piece import one_piece
from app.exports.pages.tiles import tiled
from app.exports.sheaves import TooLargeForPaperError
from tests.app.exports.reading_back import reader, strokes
from tests.app.exports.sample_plates import HOLE_MM, LONG_MM, WIDE_MM, strip


def words_of(page: Page) -> str:
    return " ".join(text.text for part in page.contents for text in part.drawing.texts)


def test_a_plate_in_one_piece_is_true_to_size_and_says_what_it_is() -> None:
    page = one_piece(strip())
    lines = [line for part in page.contents for line in part.drawing.lines]
    (edge,) = (line for line in lines if line.meaning is Meaning.CUT and line.closed)
    assert np.ptp(edge.points, axis=0) == pytest.approx([LONG_MM, WIDE_MM], abs=1e-9)
    told = words_of(page)
    for words in ("TEST STRIP", "GAUGE FOR THE TEST", "STATION 3", "FRONT", "TOP", "For tests."):
        assert words in told


@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 90.0])
def test_turning_a_plate_moves_its_lines_and_leaves_words_level(turn_deg: float) -> None:
    plate = strip()
    full = on_paper(plate.turned(float(np.deg2rad(turn_deg))))
    drawing = full.drawing()
    (hole,) = (line for line in drawing.lines if line.meaning is Meaning.AFTER_FORMING)
    assert hole.curve is not None
    assert hole.curve.length == pytest.approx(np.pi * HOLE_MM, rel=1e-12)
    middle = plate.turned(float(np.deg2rad(turn_deg))).on_paper(
        np.array([LONG_MM / 2.0, WIDE_MM / 2.0])
    )
    assert np.allclose(hole.curve.points.mean(axis=0), middle, atol=1e-9)
    assert {text.angle_deg for text in drawing.texts} <= {0.0, 90.0}


def test_a_plate_hanging_top_down_is_turned_half_round() -> None:
    down = on_paper(strip().turned(np.pi))
    assert down.topped().turn_rad == pytest.approx(2.0 * np.pi)
    assert on_paper(strip()).topped().turn_rad == 0.0


def test_tiles_of_a_plate_carry_its_name_and_join() -> None:
    pages = tiled(strip(), A4)
    assert len(pages) >= 3
    for page in pages:
        assert "TEST STRIP" in words_of(page)
        assert "100 mm" in words_of(page)


def test_without_proof_of_size_no_cutting_file_leaves() -> None:
    proved, unproved = (
        {name.rsplit(".", 1)[1] for name in plate_file_names(strip(proved=is_proved))}
        for is_proved in (True, False)
    )
    assert proved == {"pdf", "dxf", "svg"}
    assert unproved == {"pdf"}
    (first, *_) = sheaves_of_plate(strip(proved=False))
    assert "NO CUT LINE" in words_of(first.pages[0])


def test_the_dxf_of_a_plate_holds_its_edge_on_the_cut_layer_alone() -> None:
    files = plate_files(strip(), Output())
    document = ezdxf.filemanagement.read(io.StringIO(files["test strip.dxf"].decode()))
    cut = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    (edge,) = cut
    assert isinstance(edge, LWPolyline)
    corners = np.array([(x, y) for x, y, *_ in edge.get_points()])
    assert np.ptp(corners, axis=0) == pytest.approx([LONG_MM, WIDE_MM], abs=1e-6)
    assert files == plate_files(strip(), Output())


def test_the_printed_edge_of_a_plate_is_true_to_a_tenth_of_a_thousandth() -> None:
    files = plate_files(strip(), Output())
    found = [line.length for line in strokes(files["test strip.pdf"]) if line.closed]
    assert min(abs(length - 2.0 * (LONG_MM + WIDE_MM)) for length in found) < 0.01
    assert "TEST STRIP" in reader(files["test strip.pdf"]).pages[0].extract_text()


def test_a_plate_larger_than_any_paper_is_refused_by_name() -> None:
    with pytest.raises(TooLargeForPaperError) as caught:
        sheaves_of_plate(strip(long_mm=20_000.0))
    assert caught.value.panel == "test strip"

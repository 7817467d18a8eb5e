"""Names no one foresaw, and patterns that are none, in every kind of file."""

import io
from dataclasses import replace
from xml.etree import ElementTree

import ezdxf.filemanagement
import numpy as np
import pytest

from app.exports import PanelSheet, file_stem
from app.exports.drawing import LAYERS, printable
from app.exports.files import dxf_bytes, pdf_bytes, svg_bytes
from app.exports.files.dxf import DxfVersion
from app.exports.files.reading_order import printed_order
from app.exports.pages import cutting_sheet, one_piece
from geometry.pattern import Pattern
from tests.app.exports.reading_back import reader
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.exports.second_readers import dxf_entities, dxf_table, gdal_entities, svg_root

NAMES = {
    "slashes and quotes": "../left/\\side \"a\" 'b' <c> & ]]> %%u ^M\n\t",
    "200 characters": "side panel " * 18 + "ab",
    "emoji": "tank \U0001f3cd\ufe0f\U0001f468\u200d\U0001f527 left",
    "right to left": "\u05e6\u05d3 \u05e9\u05de\u05d0\u05dc 2 (\u05d0)",
    "no letters": "\u0000\u0007\ud800",
}


def _named(name: str) -> PanelSheet:
    sheet = panel_sheet("left side")
    names = tuple(name if known == sheet.panel else known for known in sheet.tank.names)
    tank = replace(sheet.tank, names=names)
    return replace(sheet, panel=name, job=replace(sheet.job, job=name), tank=tank)


@pytest.fixture(scope="module", params=list(NAMES.values()), ids=list(NAMES))
def sheet(request: pytest.FixtureRequest) -> PanelSheet:
    return _named(request.param)


def test_no_name_breaks_a_cutting_file(sheet: PanelSheet) -> None:
    """Layers keep their names, the audit finds nothing, two readers read every entity."""
    versions: tuple[DxfVersion, ...] = ("R2010", "R12")
    for version in versions:
        content = dxf_bytes(sheet, "arcs", version)
        document = ezdxf.filemanagement.read(io.StringIO(content.decode("utf-8")))
        assert not document.audit().errors
        assert set(dxf_table(content, "LAYER")) <= {*LAYERS, "0", "Defpoints", "DEFPOINTS"}
        entities = dxf_entities(content)
        assert len(entities) == len(gdal_entities(content)) == len(document.modelspace())
        assert max(len(entity.first(1)) for entity in entities) < 250


def test_no_name_breaks_an_svg(sheet: PanelSheet) -> None:
    root = svg_root(svg_bytes(sheet))
    words = "".join(root.itertext())
    assert "MARK THIS FACE: INSIDE" in words
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    assert len(ids) == len(set(ids))


def test_no_name_breaks_a_page(sheet: PanelSheet) -> None:
    document = reader(pdf_bytes([one_piece(sheet)], sheet.panel))
    assert "MARK THIS FACE: INSIDE" in document.pages[0].extract_text()
    for resource in document.pages[0]["/Resources"]["/Font"].values():  # type: ignore[index]
        assert "/FontFile2" in resource.get_object()["/FontDescriptor"]


def test_no_name_breaks_a_file_s_own_name(sheet: PanelSheet) -> None:
    stem = file_stem(sheet.panel)
    assert 0 < len(stem) <= 66
    assert not set(stem) & set('/\\:*?"<>|\n\t\0')


def test_letters_that_run_to_the_left_stand_in_reading_order_on_paper() -> None:
    """As the rules for mixed writing have it: letters turned, figures not (Unicode annex 9)."""
    assert printed_order("left 12 (a)") == "left 12 (a)"
    assert printed_order("\u05d0\u05d1 12 \u05d2") == "\u05d2 12 \u05d1\u05d0"
    assert printed_order("a \u05d0\u05d1 b \u05d2\u05d3") == "a \u05d1\u05d0 b \u05d3\u05d2"
    assert sorted(printed_order(NAMES["right to left"])) == sorted(NAMES["right to left"])


def test_signs_the_font_lacks_are_boxes_in_every_file() -> None:
    boxed = printable(NAMES["emoji"])
    assert "\u25a1" in boxed
    root = ElementTree.fromstring(svg_bytes(_named(NAMES["emoji"])).decode("utf-8"))
    assert "\U0001f3cd" not in "".join(root.itertext())


def test_a_pattern_with_a_place_that_is_no_number_is_never_written() -> None:
    sheet = panel_sheet("left side")
    for change in ("net", "trim"):
        points = getattr(sheet.pattern, change).copy()
        points[5, 0] = np.inf
        bad = replace(sheet, pattern=replace(sheet.pattern, **{change: points}))
        for write in (dxf_bytes, svg_bytes):
            with pytest.raises(ValueError, match="is no number"):
                write(bad)


def test_lines_of_no_length_are_left_out() -> None:
    sheet = panel_sheet("left side")
    speck = np.full((2, 2), 7.0)
    pattern: Pattern = replace(sheet.pattern, grid=(*sheet.pattern.grid, speck))
    drawing = cutting_sheet(replace(sheet, pattern=pattern))
    assert min(float(np.ptp(line.points, axis=0).max()) for line in drawing.lines) > 0.0

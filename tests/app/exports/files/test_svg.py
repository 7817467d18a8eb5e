"""The SVG read back with svgelements and a plain reader of XML."""

import base64
import io
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from fontTools.ttLib import TTFont

from app.exports import NothingToCutError
from app.exports.drawing import CAPITAL_HEIGHT
from app.exports.files.svg import svg_bytes
from app.exports.pages import cutting_sheet
from geometry.pattern import outline_curves
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.exports.second_readers import SVG, Group, svg_groups, svg_length, svg_root

KINDS = ("arcs", "splines")


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    sheet = panel_sheet("left side")
    return {kind: svg_bytes(sheet, kind) for kind in KINDS}  # type: ignore[arg-type]


def _corners(group: Group) -> np.ndarray:
    return np.array([[p.end.x, p.end.y] for path in group.paths for p in path if p.end is not None])


@pytest.mark.parametrize("kind", KINDS)
def test_lines_are_as_long_as_the_curves(files: dict[str, bytes], kind: str) -> None:
    """To 1e-6 mm, measured by svgelements."""
    curves = outline_curves(panel_sheet("left side").pattern, kind)  # type: ignore[arg-type]
    assert curves.trim is not None
    groups = svg_groups(files[kind])
    for name, curve in (("CUT", curves.trim.curve), ("NET", curves.net.curve)):
        (path,) = groups[name].paths
        assert svg_length(path) == pytest.approx(curve.length, abs=1e-6)
        assert path[-1].end == path[0].end  # closed


@pytest.mark.parametrize("kind", KINDS)
def test_a_unit_is_a_millimetre(files: dict[str, bytes], kind: str) -> None:
    """Width and height in mm are those of the view box; the square is 100 units each way."""
    root = svg_root(files[kind])
    box = [float(value) for value in root.attrib["viewBox"].split()]
    assert box[:2] == [0.0, 0.0]
    assert root.attrib["width"] == f"{root.attrib['viewBox'].split()[2]}mm"
    assert root.attrib["height"] == f"{root.attrib['viewBox'].split()[3]}mm"
    corners = _corners(svg_groups(files[kind])["PEN_SCALE_BAR"])
    assert np.ptp(corners, axis=0) == pytest.approx([100.0, 100.0], abs=1e-6)


def test_everything_lies_within_the_view_box(files: dict[str, bytes]) -> None:
    root = svg_root(files["arcs"])
    width, height = (float(value) for value in root.attrib["viewBox"].split()[2:])
    for group in svg_groups(files["arcs"]).values():
        for path in group.paths:
            left, top, right, bottom = path.bbox()
            assert min(left, top) > 5.0
            assert right < width - 5.0
            assert bottom < height - 5.0


def test_groups_are_named_by_what_their_lines_mean(files: dict[str, bytes]) -> None:
    groups = svg_groups(files["arcs"])
    assert {"CUT", "NET", "NODATA", "TEXT", "PEN_WITNESS_MARK", "PEN_SCALE_BAR"} <= set(groups)
    assert groups["CUT"].label == "cut along this line only"
    assert groups["NET"].label == "net line: the finished edge, not to cut"
    for name, group in groups.items():
        assert re.fullmatch(r"[A-Z_]+", name)
        assert group.label
        if name.startswith("PEN_"):
            assert "do not cut" in group.label
    strokes = {group.facts.get("stroke") for name, group in groups.items() if name != "CUT"}
    assert groups["CUT"].facts["stroke"] == "#ff0000"
    assert "#ff0000" not in strokes
    assert len(groups["CUT"].paths) == 1


def test_the_line_to_cut_is_whole(files: dict[str, bytes]) -> None:
    """A cutter that cuts dashes as they are drawn would leave the blank hanging."""
    assert "stroke-dasharray" not in svg_groups(files["arcs"])["CUT"].facts
    assert "stroke-dasharray" in svg_groups(files["arcs"])["PEN_CENTRE_LINE"].facts


def test_words_are_words_each_as_wide_as_it_was_laid_out(files: dict[str, bytes]) -> None:
    """Capitals are 0.729 of the size; the length given is what our font makes of the words."""
    drawing = cutting_sheet(panel_sheet("left side"))
    found = list(svg_root(files["arcs"]).iter(f"{SVG}text"))
    assert len(found) == len(drawing.texts)
    for element, text in zip(found, drawing.texts, strict=True):
        assert element.text == text.text
        assert float(element.attrib["font-size"]) * CAPITAL_HEIGHT == pytest.approx(text.height_mm)
        assert float(element.attrib["textLength"]) == pytest.approx(text.width_mm, abs=1e-6)
    said = {element.text for element in found}
    for words in ("LEFT SIDE", "MARK THIS FACE: INSIDE", "MAKES THE LEFT SIDE", "FRONT", "A1"):
        assert words in said


def test_text_is_never_mirrored(files: dict[str, bytes]) -> None:
    """Only quarter turns, about the text's own place; no matrix, no scale anywhere."""
    for element in svg_root(files["arcs"]).iter():
        turned = element.attrib.get("transform")
        if turned is not None:
            x, y = element.attrib["x"], element.attrib["y"]
            assert re.fullmatch(rf"rotate\(-?[\d.]+ {re.escape(x)} {re.escape(y)}\)", turned)


def test_the_picture_is_what_the_maker_sees(files: dict[str, bytes]) -> None:
    """Marked inside: u runs to the left; up on the page is up."""
    sheet = panel_sheet("left side")
    corners = _corners(svg_groups(files["arcs"])["NET"])
    net = sheet.pattern.net * [-1.0, 1.0]
    moved = corners * [1.0, -1.0]
    shift = net.min(axis=0) - moved.min(axis=0)
    ring = shapely.LinearRing(net)
    assert shapely.distance(shapely.points(moved + shift), ring).max() < 0.1


def test_the_signs_used_are_in_the_file(files: dict[str, bytes]) -> None:
    (style,) = svg_root(files["arcs"]).iter(f"{SVG}style")
    fonts = re.findall(r"base64,([^)]+)\)", style.text or "")
    assert len(fonts) == 2
    known = [set(TTFont(io.BytesIO(base64.b64decode(font))).getBestCmap()) for font in fonts]
    for text in cutting_sheet(panel_sheet("left side")).texts:
        assert {ord(sign) for sign in text.text} <= known[1 if text.bold else 0]


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_sheet_gives_the_same_bytes(files: dict[str, bytes], kind: str) -> None:
    assert svg_bytes(panel_sheet("left side"), kind) == files[kind]  # type: ignore[arg-type]


def test_it_leaves_only_where_a_blank_may_be_cut() -> None:
    with pytest.raises(NothingToCutError) as caught:
        svg_bytes(panel_sheet("left side", size_proved=False))
    assert caught.value.reason == "SIZE NOT TAPED"
    sheet = panel_sheet("left side")
    bad = replace(sheet, flat=replace(sheet.flat, converged=False))  # type: ignore[type-var]
    with pytest.raises(NothingToCutError):
        svg_bytes(bad)

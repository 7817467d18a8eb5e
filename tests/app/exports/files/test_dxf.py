"""The cutting file read back with GDAL, with ezdxf and, group by group, without either."""

import io
from dataclasses import replace

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as DxfDocument

from app.exports import NothingToCutError
from app.exports.drawing import LAYERS, LINE_TYPES
from app.exports.files.dxf import dxf_bytes, text_for_dxf
from app.exports.pages import cutting_sheet
from geometry.pattern import Curve, outline_curves
from tests.app.exports.reading_back import signed_area
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.exports.second_readers import (
    Entity,
    dxf_entities,
    dxf_groups,
    dxf_table,
    gdal_entities,
    gdal_length,
)

KINDS = (("arcs", "R2010"), ("splines", "R2010"), ("arcs", "R12"))


def _read(content: bytes) -> DxfDocument:
    return ezdxf.filemanagement.read(io.StringIO(content.decode("utf-8")))


def _on(content: bytes, layer: str) -> list[Entity]:
    return [entity for entity in dxf_entities(content) if entity.layer == layer]


def _curves(kind: str, panel: str = "left side") -> tuple[Curve, Curve]:
    """Return the net line and the line to cut."""
    curves = outline_curves(panel_sheet(panel).pattern, kind)  # type: ignore[arg-type]
    assert curves.trim is not None
    return curves.net.curve, curves.trim.curve


@pytest.fixture(scope="module")
def left() -> bytes:
    return dxf_bytes(panel_sheet("left side"))


@pytest.fixture(scope="module")
def files() -> dict[tuple[str, str], bytes]:
    sheet = panel_sheet("left side")
    return {(kind, version): dxf_bytes(sheet, kind, version) for kind, version in KINDS}  # type: ignore[arg-type]


@pytest.mark.parametrize(("kind", "version"), KINDS)
def test_cut_holds_one_closed_line_as_long_as_the_curve(
    files: dict[tuple[str, str], bytes], kind: str, version: str
) -> None:
    """Read group by group: arcs by radius and angle, splines by quadrature, to 1e-6 mm."""
    content = files[kind, version]
    net, cut = _curves(kind)
    wanted = {"R12": "POLYLINE", "R2010": "LWPOLYLINE" if kind == "arcs" else "SPLINE"}[version]
    for layer, curve in (("CUT", cut), ("NET", net)):
        (entity,) = _on(content, layer)
        assert entity.kind == wanted
        assert entity.length == pytest.approx(curve.length, abs=1e-6)
        assert entity.closed or (entity.points[0] == entity.points[-1]).all()
    assert abs(signed_area(_on(content, "CUT")[0].points)) > abs(signed_area(net.points))


@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_a_second_library_measures_the_same_length(
    files: dict[tuple[str, str], bytes], version: str
) -> None:
    """GDAL turns arcs into chords: extrapolated from 0.02 and 0.01 degrees, within 1e-6 mm."""
    content = files["arcs", version]
    net, cut = _curves("arcs")
    assert gdal_length(content, "CUT") == pytest.approx(cut.length, abs=1e-6)
    assert gdal_length(content, "NET") == pytest.approx(net.length, abs=1e-6)


def test_a_second_library_finds_splines_on_the_line_to_cut(
    files: dict[tuple[str, str], bytes],
) -> None:
    """GDAL draws a spline through points of it: each on our curve, which chords leave by 1e-5."""
    _, cut = _curves("splines")
    seen = cut.transformed(np.diag([-1.0, 1.0]))
    ring = shapely.LinearRing(seen.sampled(1e-5))
    content = files["splines", "R2010"]
    (found,) = [drawn for drawn in gdal_entities(content) if drawn.layer == "CUT"]
    assert shapely.is_closed(found.shape)
    points = shapely.points(shapely.get_coordinates(found.shape))
    assert shapely.distance(points, ring).max() < 2e-5
    assert found.shape.length == pytest.approx(cut.length, abs=0.2)  # it cuts corners


@pytest.mark.parametrize(("kind", "version"), KINDS)
def test_the_net_line_is_the_rim_of_the_blank(
    files: dict[tuple[str, str], bytes], kind: str, version: str
) -> None:
    """Every vertex of the rim, mirrored as the inside is marked, lies within 0.02 mm of it."""
    sheet = panel_sheet("left side")
    rim = sheet.flat.flat_vertices[sheet.flat.rim] * [-1.0, 1.0]
    (found,) = [
        drawn for drawn in gdal_entities(files[kind, version], degrees=0.05) if drawn.layer == "NET"
    ]
    assert shapely.distance(shapely.points(rim), found.shape).max() < 0.02 + 1e-4
    area = shapely.Polygon(shapely.get_coordinates(found.shape)).area
    assert area == pytest.approx(sheet.flat.blank_area, abs=0.02 * sheet.flat.rim_blank)  # type: ignore[attr-defined]


def test_the_cut_lies_half_an_inch_outside_the_net_in_the_file_too(left: bytes) -> None:
    """Both run within 0.02 mm of what they were worked out at."""
    found = {
        d.layer: d.shape for d in gdal_entities(left, degrees=0.05) if d.layer in ("NET", "CUT")
    }
    distance = shapely.distance(shapely.points(shapely.get_coordinates(found["CUT"])), found["NET"])
    assert np.abs(distance - 12.7).max() < 0.05


@pytest.mark.parametrize("kind", ["arcs", "splines"])
def test_the_unit_is_millimetres_and_a_square_shows_it(
    files: dict[tuple[str, str], bytes], kind: str
) -> None:
    """$INSUNITS 4 is millimetres (published DXF reference)."""
    content = files[kind, "R2010"]
    groups = dxf_groups(content)
    assert groups[groups.index((9, "$ACADVER")) + 1] == (1, "AC1024")
    assert groups[groups.index((9, "$INSUNITS")) + 1] == (70, "4")
    assert groups[groups.index((9, "$MEASUREMENT")) + 1] == (70, "1")
    _square_of_100_mm(content)


def _square_of_100_mm(content: bytes) -> None:
    squares = [
        entity.points
        for entity in _on(content, "PEN")
        if entity.closed
        and len(entity.points) == 4
        and np.allclose(np.ptp(entity.points, axis=0), 100.0, atol=1e-9)
    ]
    assert len(squares) == 1
    assert abs(signed_area(squares[0])) == pytest.approx(10000.0, abs=1e-6)
    trim = shapely.Polygon(_on(content, "CUT")[0].points)
    assert not trim.intersects(shapely.Polygon(squares[0]))


def test_a_file_for_old_cutters_is_of_their_kind(files: dict[tuple[str, str], bytes]) -> None:
    """R12: names in capitals, figures, $, - and _, at most 31; no entity or sign it cannot know.

    It carries no unit: the square alone shows it (published DXF reference, R12).
    """
    content = files["arcs", "R12"]
    groups = dxf_groups(content)
    assert groups[groups.index((9, "$ACADVER")) + 1] == (1, "AC1009")
    assert (9, "$INSUNITS") not in groups
    _square_of_100_mm(content)
    assert {entity.kind for entity in dxf_entities(content)} == {"POLYLINE", "TEXT"}
    content.decode("ascii")
    for table in ("LAYER", "LTYPE", "STYLE"):
        for name in dxf_table(content, table):
            assert len(name) <= 31
            assert set(name.upper()) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789$-_")
    assert all(len(entity.first(1)) < 256 for entity in dxf_entities(content))


@pytest.mark.parametrize(("kind", "version"), KINDS)
def test_layers_are_those_agreed_with_their_line_types(
    files: dict[tuple[str, str], bytes], kind: str, version: str
) -> None:
    content = files[kind, version]
    assert set(LAYERS) >= {"CUT", "NET", "PEN", "AFTER_FORMING", "BEND", "TEXT", "NODATA"}
    rows = dxf_table(content, "LAYER")
    assert {name: row[6].upper() for name, row in rows.items() if name in LAYERS} == {
        name: layer.line_type for name, layer in LAYERS.items()
    }
    assert (rows["NET"][6].upper(), rows["CUT"][6], rows["BEND"][6]) == (
        "CONTINUOUS",
        "DASHED",
        "CENTER",
    )
    dashes = dxf_table(content, "LTYPE")
    assert set(LINE_TYPES) <= set(dashes)
    assert float(dashes["DASHED"][40]) == 9.0  # 6 mm drawn, 3 mm left out
    used = {drawn.layer for drawn in gdal_entities(content)}
    assert {"CUT", "NET", "PEN", "TEXT", "NODATA"} <= used <= set(LAYERS)


@pytest.mark.parametrize(("kind", "version"), KINDS)
def test_the_file_is_sound_where_an_audit_looks_and_where_none_does(
    files: dict[tuple[str, str], bytes], kind: str, version: str
) -> None:
    """Besides ezdxf's audit: no figure that is none, nothing of no length, no layer undefined."""
    content = files[kind, version]
    auditor = _read(content).audit()
    assert not auditor.errors
    assert not auditor.fixes
    rows, dashes = dxf_table(content, "LAYER"), dxf_table(content, "LTYPE")
    for entity in dxf_entities(content):
        assert entity.layer in rows
        assert entity.first(6, "BYLAYER").upper() in {"BYLAYER", *(name.upper() for name in dashes)}
        if entity.kind == "TEXT":
            assert entity.first(1)
            assert np.isfinite([*entity.numbers(10), *entity.numbers(20)]).all()
            continue
        assert np.isfinite(entity.points).all()
        assert np.isfinite(entity.bulges).all() or entity.kind == "SPLINE"
        assert entity.length > 1e-3
    assert b"nan" not in content.lower().replace(b"tenan", b"")
    assert b"\ninf" not in content.lower()


def test_openings_are_kept_off_the_cut_layer() -> None:
    content = dxf_bytes(panel_sheet("top strip"))
    rings = [entity for entity in _on(content, "AFTER_FORMING") if entity.closed]
    assert len(rings) == 1
    (exact,) = outline_curves(panel_sheet("top strip").pattern, "arcs").openings
    assert rings[0].length == pytest.approx(exact.length, abs=1e-6)
    assert len(_on(content, "CUT")) == 1


def test_the_cut_piece_carries_its_own_label(left: bytes) -> None:
    found = gdal_entities(left, degrees=0.5)
    (ring,) = [drawn.shape for drawn in found if drawn.layer == "NET"]
    net = shapely.Polygon(shapely.get_coordinates(ring))
    inside = [drawn.text for drawn in found if drawn.layer == "TEXT" and net.contains(drawn.shape)]
    for words in ("LEFT SIDE", "MARK THIS FACE: INSIDE", "MAKES THE LEFT SIDE", "FRONT", "A1"):
        assert words in inside


@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_words_are_as_wide_as_they_were_laid_out(
    files: dict[tuple[str, str], bytes], version: str
) -> None:
    """Fitted between the ends of their base line (72 is 5, published DXF reference): any font."""
    drawing = cutting_sheet(panel_sheet("left side"))
    texts = [e for e in dxf_entities(files["arcs", version]) if e.kind == "TEXT"]
    assert len(texts) == len(drawing.texts)
    for entity, text in zip(texts, drawing.texts, strict=True):
        assert entity.first(72) == "5"
        first = np.array([entity.numbers(10)[0], entity.numbers(20)[0]])
        last = np.array([entity.numbers(11)[0], entity.numbers(21)[0]])
        assert np.hypot(*(last - first)) == pytest.approx(text.width_mm, abs=1e-6)
        assert entity.numbers(40)[0] == text.height_mm
        anchor = {"start": first, "middle": (first + last) / 2.0, "end": last}[text.anchor]
        assert anchor == pytest.approx(np.array(text.place), abs=1e-6)


def test_text_is_never_mirrored(left: bytes) -> None:
    for entity in _read(left).modelspace().query("TEXT"):
        assert entity.dxf.get("text_generation_flag", 0) == 0
        assert -90.0 < entity.dxf.rotation <= 90.0
        assert entity.dxf.extrusion.z == 1.0


@pytest.mark.parametrize(("kind", "version"), KINDS)
def test_the_same_sheet_gives_the_same_bytes(
    files: dict[tuple[str, str], bytes], kind: str, version: str
) -> None:
    again = dxf_bytes(panel_sheet("left side"), kind, version)  # type: ignore[arg-type]
    assert again == files[kind, version]
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"converged": False}, "THE BLANK IS NOT SETTLED"),
        ({"overlap_area": 2.0}, "THE BLANK LIES OVER ITSELF: ADD A SEAM"),
        ({"inverted": 1}, "THE BLANK IS FOLDED"),
    ],
)
def test_a_blank_nobody_should_cut_has_no_cutting_file(
    changes: dict[str, object], reason: str
) -> None:
    sheet = panel_sheet("left side")
    bad = replace(sheet, flat=replace(sheet.flat, **changes))  # type: ignore[type-var]
    with pytest.raises(NothingToCutError) as caught:
        dxf_bytes(bad)
    assert (caught.value.panel, caught.value.reason) == ("left side", reason)


def test_without_proof_of_size_there_is_no_cutting_file() -> None:
    with pytest.raises(NothingToCutError) as caught:
        dxf_bytes(panel_sheet("left side", size_proved=False))
    assert caught.value.reason == "SIZE NOT TAPED"


def test_no_words_of_a_maker_are_taken_for_a_code() -> None:
    """%%, ^ and a backslash start codes in DXF; old files know no signs beyond ASCII."""
    for words in ("%%u 100%%% ^M", 'a\\P"b"/c', "\u05d0\u05d1 \U0001f3cd", "x" * 400):
        for old in (False, True):
            shown = text_for_dxf(words, old=old)
            assert "\\" not in shown
            assert "%%" not in shown
            assert "^" not in shown.replace("^ ", "")
            assert not old or (shown.isascii() and len(shown) <= 250)

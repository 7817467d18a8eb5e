"""The cutting file read back with ezdxf and, group by group, without it."""

import io
from dataclasses import replace

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as DxfDocument

from app.exports import NothingToCutError
from app.exports.files.dxf import dxf_bytes
from app.exports.files.layers import LAYERS
from tests.app.exports.reading_back import closed_length, signed_area
from tests.app.exports.sample_sheets import panel_sheet


def _read(content: bytes) -> DxfDocument:
    return ezdxf.filemanagement.read(io.StringIO(content.decode("utf-8")))


def _polylines(content: bytes, layer: str) -> list[tuple[np.ndarray, bool]]:
    """Return the light polylines of a layer by reading the file's group codes one by one."""
    lines = content.decode("utf-8").splitlines()
    groups = [(int(lines[i]), lines[i + 1].strip()) for i in range(0, len(lines) - 1, 2)]
    start = groups.index((2, "ENTITIES"))
    found: list[tuple[np.ndarray, bool]] = []
    entity: list[tuple[int, str]] = []
    for code, value in [*groups[start + 1 :], (0, "EOF")]:
        if code != 0:
            entity.append((code, value))
            continue
        if entity and entity[0] == (0, "LWPOLYLINE") and (8, layer) in entity:
            x = [float(v) for c, v in entity if c == 10]
            y = [float(v) for c, v in entity if c == 20]
            found.append((np.array([x, y]).T, bool(int(dict(entity)[70]) & 1)))
        if value == "ENDSEC":
            break
        entity = [(code, value)]
    return found


@pytest.fixture(scope="module")
def left() -> bytes:
    return dxf_bytes(panel_sheet("left side"))


def test_cut_holds_one_closed_line_the_trim_line(left: bytes) -> None:
    """Coordinates are written in full: length and area to 1e-6 mm, mm2."""
    exact = panel_sheet("left side").pattern.trim
    assert exact is not None
    entities = [e for e in _read(left).modelspace() if e.dxf.layer == "CUT"]
    assert [entity.dxftype() for entity in entities] == ["LWPOLYLINE"]
    ((points, closed),) = _polylines(left, "CUT")
    assert closed
    assert closed_length(points) == pytest.approx(closed_length(exact), abs=1e-6)
    assert -signed_area(points) == pytest.approx(signed_area(exact), abs=1e-6)


def test_the_net_line_is_the_rim_of_the_blank(left: bytes) -> None:
    sheet = panel_sheet("left side")
    ((points, closed),) = _polylines(left, "NET")
    assert closed
    flat = sheet.flat.flat_vertices[sheet.flat.rim]
    assert np.abs(points - flat * [-1.0, 1.0]).max() < 1e-12
    assert closed_length(points) == pytest.approx(sheet.flat.rim_blank, abs=1e-6)  # type: ignore[attr-defined]
    assert abs(signed_area(points)) == pytest.approx(sheet.flat.blank_area, abs=1e-6)


def test_the_cut_lies_half_an_inch_outside_the_net_in_the_file_too(left: bytes) -> None:
    net = shapely.LinearRing(_polylines(left, "NET")[0][0])
    cut = shapely.points(_polylines(left, "CUT")[0][0])
    distance = shapely.distance(cut, net)
    assert np.abs(distance - 12.7).max() < 0.01


def test_the_unit_is_millimetres_and_a_square_shows_it(left: bytes) -> None:
    """$INSUNITS 4 is millimetres (published DXF reference)."""
    lines = left.decode().splitlines()
    assert lines[lines.index("$INSUNITS") + 2].strip() == "4"
    squares = [
        points
        for points, closed in _polylines(left, "PEN")
        if closed and len(points) == 4 and np.allclose(np.ptp(points, axis=0), 100.0)
    ]
    assert len(squares) == 1
    assert signed_area(squares[0]) == pytest.approx(10000.0, abs=1e-6)
    trim = shapely.Polygon(_polylines(left, "CUT")[0][0])
    assert not trim.intersects(shapely.Polygon(squares[0]))


def test_layers_are_those_agreed_and_every_line_is_on_one(left: bytes) -> None:
    document = _read(left)
    assert set(LAYERS) >= {"CUT", "NET", "PEN", "AFTER_FORMING", "BEND", "TEXT", "NODATA"}
    assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used == {"CUT", "NET", "PEN", "TEXT", "NODATA"}
    assert not document.audit().errors
    for layer in used - {"TEXT"}:
        for points, _ in _polylines(left, layer):
            assert np.isfinite(points).all()
            assert np.ptp(points, axis=0).max() > 1e-6


def test_openings_are_kept_off_the_cut_layer() -> None:
    content = dxf_bytes(panel_sheet("top strip"))
    rings = [points for points, closed in _polylines(content, "AFTER_FORMING") if closed]
    assert len(rings) == 1
    exact = panel_sheet("top strip").pattern.openings[0].outline
    assert closed_length(rings[0]) == pytest.approx(closed_length(exact), abs=1e-6)
    assert len(_polylines(content, "CUT")) == 1


def test_the_cut_piece_carries_its_own_label(left: bytes) -> None:
    net = shapely.Polygon(_polylines(left, "NET")[0][0])
    inside = [
        entity.dxf.text
        for entity in _read(left).modelspace().query("TEXT")
        if net.contains(shapely.Point(entity.dxf.align_point.x, entity.dxf.align_point.y))
    ]
    for words in ("LEFT SIDE", "MARK THIS FACE: INSIDE", "MAKES THE LEFT SIDE", "FRONT", "A1"):
        assert words in inside


def test_text_is_never_mirrored(left: bytes) -> None:
    for entity in _read(left).modelspace().query("TEXT"):
        assert entity.dxf.get("text_generation_flag", 0) == 0
        assert -90.0 < entity.dxf.rotation <= 90.0
        assert entity.dxf.extrusion.z == 1.0


def test_the_same_sheet_gives_the_same_bytes(left: bytes) -> None:
    assert dxf_bytes(panel_sheet("left side")) == left
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

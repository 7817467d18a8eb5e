"""Allowances on paper: folds up or down, holes to drill, both outlines and every edge named."""

import io
from dataclasses import replace
from functools import cache
from itertools import combinations

import ezdxf.filemanagement
import ezdxf.path
import numpy as np
import pytest
import shapely

from app.exports import PanelSheet
from app.exports.drawing import FreeSpace, Line, Meaning, Text
from app.exports.files import dxf_bytes
from app.exports.marks.allowance_marks import (
    allowance_lines,
    allowance_rows,
    allowance_texts,
    allowance_words,
    is_uniform,
)
from app.exports.pages import pattern_drawing
from app.exports.words import cut_words, trim_words
from geometry.arrays import FloatArray
from geometry.pattern import (
    BendStock,
    EdgeAllowance,
    Outline,
    bare_pattern,
    dress,
    edge_letters,
)
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel, panel_sheet
from tests.geometry.pattern.stand_ins import FlatByFormula, grid

NAME = "top strip"
LEFT, RIGHT = "left rail|left side", "right rail|right side"
MIXED = {
    LEFT: EdgeAllowance("trim", 25.4, corner="mitred"),
    RIGHT: EdgeAllowance("joggle", 12.0),
    "F1": EdgeAllowance("hem", 10.0),
    "F2": EdgeAllowance("flange", 20.0, 90.0),
}
FLANGES = dict.fromkeys(MIXED, EdgeAllowance("flange", 20.0, 90.0))
ALLOWED_WORDS = ("TRIM", "HEM", "JOGGLE", "FLANGE", "LAP", "NO TRIM", "DRILL", "NET", "CUT")
SLOT = [[100.0, 60.0], [120.0, 60.0], [120.0, 158.0], [100.0, 158.0]]
DXF_COUNTS = {"CUT": 1, "NET": 1, "RELIEF": 4, "BEND_DOWN": 12}
LINES_KEPT_CLEAR = {
    Meaning.NET,
    Meaning.CUT,
    Meaning.MARK,
    Meaning.TICK,
    Meaning.BEND_UP,
    Meaning.BEND_DOWN,
    Meaning.ALLOWANCE,
    Meaning.RELIEF,
}


def sheet_with(
    asked: dict[str, EdgeAllowance], *, growth_mm: float = 0.0, **changes: object
) -> PanelSheet:
    panels = [(cut_panel(name), cut_panel(name).mesh.vertices) for name in PANEL_ANGLES]
    flat = flat_panel(NAME)
    pattern = dress(
        flat,
        cut_panel(NAME),
        letters=edge_letters(panels)[NAME],
        allowances=asked,
        growth=np.full(len(flat.rim), growth_mm),
        stock=BendStock(1.6, 1.6),
    )
    return replace(panel_sheet(NAME, **changes), pattern=pattern)


@cache
def mixed() -> PanelSheet:
    return sheet_with(MIXED, growth_mm=0.84)


def course(line: Line) -> shapely.LineString:
    points = np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
    return shapely.LineString(points)


def own_texts(sheet: PanelSheet) -> list[Text]:
    return [
        text
        for text in pattern_drawing(sheet).texts
        if text.text.partition(": ")[2].startswith(ALLOWED_WORDS)
        or text.text.startswith(ALLOWED_WORDS)
        if text.text != "CUT AFTER FORMING"
    ]


def test_a_flange_towards_the_inside_is_bent_up_on_the_inside_and_down_on_the_outside() -> None:
    inward = {LEFT: EdgeAllowance("flange", 20.0, 60.0)}
    outward = {LEFT: EdgeAllowance("flange", 20.0, -60.0)}
    for asked, face, way in (
        (inward, "inside", Meaning.BEND_UP),
        (inward, "outside", Meaning.BEND_DOWN),
        (outward, "inside", Meaning.BEND_DOWN),
        (outward, "outside", Meaning.BEND_UP),
    ):
        sheet = sheet_with(asked, marked_face=face)
        lines = allowance_lines(sheet)
        assert {line.meaning for line in lines} == {way}
        told = [allowance_words(sheet, cut) for cut in sheet.pattern.allowance_of_edge]
        asked_for = "BEND UP 60" if way is Meaning.BEND_UP else "BEND DOWN 60"
        assert sum(asked_for in words for words in told) == 1


def test_fold_lines_lie_on_the_net_line_as_it_is_drawn() -> None:
    sheet = mixed()
    net = shapely.LinearRing(sheet.lay.on_paper(sheet.pattern.net))
    for fold, line in zip(sheet.pattern.bend_lines, allowance_lines(sheet), strict=False):
        off = shapely.distance(shapely.points(line.points), net)
        if fold.outside_mm == 0.0:
            assert off.max() < 1e-9
        else:
            assert off.max() < abs(fold.outside_mm) + 0.06


def test_a_hole_the_cut_line_runs_into_is_for_the_drill_and_another_is_cut() -> None:
    sheet = sheet_with(FLANGES)
    (drill,) = {line.meaning for line in allowance_lines(sheet) if line.closed}
    assert drill is Meaning.RELIEF
    alone = tuple(replace(relief, on_outline=False) for relief in sheet.pattern.reliefs)
    other = replace(sheet, pattern=replace(sheet.pattern, reliefs=alone))
    circles = [line for line in allowance_lines(other) if line.closed]
    assert {line.meaning for line in circles} == {Meaning.CUT}
    for circle, relief in zip(circles, alone, strict=True):
        assert circle.curve is not None
        assert circle.curve.length == pytest.approx(np.pi * relief.diameter_mm)


def test_nothing_of_it_is_drawn_where_nothing_may_be_cut() -> None:
    sheet = sheet_with(MIXED, size_proved=False, tapes=())
    assert allowance_lines(sheet) == []
    assert own_texts(sheet) == []
    assert not any(shown for shown, *_ in allowance_rows(sheet))


def test_every_edge_is_told_where_they_differ_and_both_outlines_are_named() -> None:
    texts = [text.text for text in own_texts(mixed())]
    for words in ("TRIM 25.4 mm (1 in), CUT BIG BY 0.9 mm", "JOGGLE UP", "HEM 10 mm", "FLANGE 20"):
        assert any(words in text for text in texts)
    assert texts.count("NET") >= 4
    assert texts.count("CUT") >= 4
    assert sum(text.startswith("DRILL \u00d8 3.2 mm") for text in texts) == 2


def test_one_width_all_round_is_told_once() -> None:
    sheet = panel_sheet("left side")
    assert is_uniform(sheet)
    told = [text.text for text in own_texts(sheet) if text.text not in ("NET", "CUT")]
    assert told == ["TRIM 12.7 mm (1/2 in)"]
    assert not is_uniform(mixed())


@pytest.mark.parametrize("asked", [MIXED, FLANGES], ids=["mixed", "flanges"])
@pytest.mark.parametrize("face", ["inside", "outside"])
def test_words_stand_level_or_upright_clear_of_lines_and_of_each_other(
    asked: dict[str, EdgeAllowance], face: str
) -> None:
    sheet = sheet_with(asked, growth_mm=0.84, marked_face=face)
    drawing = pattern_drawing(sheet)
    own = own_texts(sheet)
    grounds = [shapely.Polygon(text.outline) for text in own]
    assert {text.angle_deg for text in own} <= {0.0, 90.0}
    assert min(text.height_mm for text in own) >= 2.5
    lines = [course(line) for line in drawing.lines if line.meaning in LINES_KEPT_CLEAR]
    for ground in grounds:
        assert not any(ground.intersects(line) for line in lines)
    every = [shapely.Polygon(text.outline) for text in drawing.texts]
    for one, other in combinations(range(len(every)), 2):
        if drawing.texts[one] in own or drawing.texts[other] in own:
            assert not every[one].intersects(every[other])


def test_words_in_the_margin_stay_on_the_metal() -> None:
    sheet = mixed()
    assert sheet.pattern.trim is not None
    blank = shapely.Polygon(sheet.lay.on_paper(sheet.pattern.trim))
    assert all(blank.contains(shapely.Polygon(text.outline)) for text in own_texts(sheet))


def test_a_cut_line_is_named_only_where_it_runs() -> None:
    """Each name stands 3.2 mm inside its line, or as near as there is room within 3 mm of that."""
    for sheet in (mixed(), panel_sheet("left side")):
        assert sheet.pattern.trim is not None
        ring = shapely.LinearRing(sheet.lay.on_paper(sheet.pattern.trim))
        names = [text for text in own_texts(sheet) if text.text == "CUT"]
        assert names
        assert all(shapely.Polygon(text.outline).distance(ring) < 6.2 for text in names)


def test_no_cut_line_is_named_in_a_slot_that_closes_over() -> None:
    flat, faces = grid(22, 16, 220.0, 160.0)
    middle = flat[faces].mean(axis=1)
    faces = faces[(np.abs(middle[:, 0] - 110.0) > 10.0) | (middle[:, 1] < 60.0)]
    kept, numbered = np.unique(faces, return_inverse=True)
    places = flat[kept]
    slotted = FlatByFormula(np.pad(places, ((0, 0), (0, 1))), numbered.reshape(-1, 3), places)
    pattern = bare_pattern(slotted)
    assert pattern.trim_closes_over
    sheet = replace(panel_sheet("left side"), pattern=pattern)
    space = FreeSpace(sheet.lay.on_paper(pattern.net))
    net = sheet.lay.on_paper(pattern.net)
    _, margin = allowance_texts(sheet, space, [np.concatenate([net, net[:1]])])
    slot = shapely.Polygon(sheet.lay.on_paper(np.array(SLOT)))
    named = [shapely.Polygon(text.outline) for text in margin if text.text == "CUT"]
    assert len(named) >= 6
    assert not any(slot.intersects(name) for name in named)


def test_what_may_be_cut_is_told_by_least_and_most_where_widths_differ() -> None:
    assert trim_words(mixed()) == "10.8 mm (7/16 in) to 26.2 mm (1 1/16 in)"
    assert "as told along each edge" in cut_words(mixed())
    none = sheet_with(dict.fromkeys(MIXED, EdgeAllowance("none", 0.0)))
    assert "nothing is trimmed after" in cut_words(none)
    some = sheet_with({**MIXED, "F1": EdgeAllowance("none", 0.0)})
    assert trim_words(some) == "up to 25.4 mm (1 in)"
    plain = panel_sheet("left side")
    assert cut_words(plain).endswith("12.7 mm (1/2 in) outside the net line everywhere.")


def test_a_legend_tells_of_folds_and_holes_that_are_there_alone() -> None:
    shown = {meaning for there, meaning, _ in allowance_rows(mixed()) if there}
    assert shown == {Meaning.BEND_UP, Meaning.ALLOWANCE, Meaning.RELIEF}
    assert not any(there for there, *_ in allowance_rows(panel_sheet("left side")))


@pytest.mark.parametrize("outline", ["arcs", "splines"])
def test_a_cutting_file_keeps_its_distance_and_holds_holes_and_folds_on_layers(
    outline: Outline,
) -> None:
    """Read back by ezdxf. The line to cut lies its width off the net, corners left out, within
    0.1 mm; a hole is on RELIEF where that line runs into it, else on CUT.
    """
    sheet = sheet_with(FLANGES, marked_face="outside")
    paths = paths_in(dxf_bytes(sheet, outline))
    assert {
        layer: len(found) for layer, found in paths.items() if layer in DXF_COUNTS
    } == DXF_COUNTS
    alone = tuple(replace(relief, on_outline=False) for relief in sheet.pattern.reliefs)
    apart = replace(sheet, pattern=replace(sheet.pattern, reliefs=alone))
    assert len(paths_in(dxf_bytes(apart, outline))["CUT"]) == 5
    (cut,) = paths["CUT"]
    ring = shapely.LinearRing(cut)
    lay_to_file = cut.min(axis=0) - sheet.lay.on_paper(np.asarray(sheet.pattern.trim)).min(axis=0)
    for edge, left in zip(sheet.pattern.edges, sheet.pattern.allowance_of_edge, strict=True):
        line = shapely.LineString(sheet.lay.on_paper(edge.points) + lay_to_file)
        clear = left.cut_mm + 6.0  # nearer to a corner its hole is nearer than the cut
        places = line.interpolate(np.linspace(clear, line.length - clear, 80))
        off = shapely.distance(places, ring)
        assert np.abs(off - left.cut_mm).max() < 0.1


def paths_in(content: bytes) -> dict[str, list[FloatArray]]:
    """Return the courses of a cutting file's lines, layer by layer, within 0.002 mm."""
    document = ezdxf.filemanagement.read(io.StringIO(content.decode("utf-8")))
    found: dict[str, list[FloatArray]] = {}
    for entity in document.modelspace().query("LWPOLYLINE SPLINE CIRCLE"):
        course = ezdxf.path.make_path(entity).flattening(0.002)
        points = np.array([(point.x, point.y) for point in course])
        found.setdefault(entity.dxf.layer, []).append(points)
    return found

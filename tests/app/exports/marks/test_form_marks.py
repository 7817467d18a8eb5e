"""What the full-size pattern carries for the form and the grid: the same as the reduced pages."""

import io
import re
from dataclasses import replace
from functools import cache

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import PanelSheet
from app.exports.drawing import Drawing, Line, Meaning
from app.exports.files.dxf import dxf_bytes
from app.exports.files.svg import svg_bytes
from app.exports.marks import form_guide_of, squares_of, sweeps_of
from app.exports.pages import bench_pages, one_piece
from app.exports.pages.panel_drawing import listed_words, pattern_drawing
from geometry.arrays import FloatArray
from tests.app.exports.marks.test_tape_marks import shown_in
from tests.app.exports.sample_sheets import PANEL_ANGLES

NAMES = tuple(PANEL_ANGLES)


@cache
def sheet_of(name: str, show: str = "mm", turn: float = 0.0) -> PanelSheet:
    return replace(shown_in(show, name), turn_rad=turn)


def tips(drawing: Drawing) -> FloatArray:
    """Return where the pointers of form ticks stand: the first corner of each triangle."""
    ticks = [line for line in drawing.lines if line.meaning is Meaning.FORM_TICK]
    assert all(line.closed and len(line.points) == 3 for line in ticks)
    return np.array([line.points[0] for line in ticks])


def of(drawing: Drawing, meaning: Meaning) -> list[Line]:
    return [line for line in drawing.lines if line.meaning is meaning]


@pytest.mark.parametrize("show", ["mm", "in"])
@pytest.mark.parametrize("name", NAMES)
def test_form_ticks_point_at_the_cut_edge_each_with_its_number_or_listed(
    name: str, show: str
) -> None:
    """Their tips on the line to cut to 0.01 mm, their numbers within 9 mm, in the metal."""
    sheet = sheet_of(name, show)
    guide, drawing = form_guide_of(sheet), pattern_drawing(sheet)
    places = sheet.lay.on_paper(np.array([tick.on_cut for tick in guide.ticks]))
    np.testing.assert_allclose(tips(drawing), places, atol=1e-9)
    assert sheet.pattern.trim is not None
    metal = shapely.Polygon(sheet.lay.on_paper(sheet.pattern.trim))
    assert shapely.distance(shapely.points(places), metal.exterior).max() < 0.01
    numbers = [text for text in drawing.texts if text.text.isdigit()]
    found = {text.text: shapely.Polygon(text.outline) for text in numbers}
    assert len(found) == len(numbers)
    assert all(metal.contains(ground) for ground in found.values())
    listed = " ".join(row for row in listed_words(sheet) if row.startswith("Form ticks"))
    for tick, place in zip(guide.ticks, places, strict=True):
        ground = found.get(str(tick.number))
        if ground is None:
            assert re.search(rf"\b{tick.number}\b", listed)
        else:
            assert ground.distance(shapely.Point(place)) < 9.0


def test_numbers_are_those_of_the_form_page_and_come_from_one_result() -> None:
    sheet = sheet_of("left side")
    turned = replace(sheet, turn_rad=0.8)
    assert form_guide_of(turned) is form_guide_of(sheet)
    assert sweeps_of(turned) is sweeps_of(sheet)
    form = bench_pages(sheet)[1]
    told = {text.text.strip() for part in form.contents for text in part.drawing.texts}
    drawn = {text.text for text in pattern_drawing(sheet).texts if text.text.isdigit()}
    assert drawn
    assert drawn <= told


def test_form_numbers_are_plain_and_witness_marks_have_a_letter_as_the_legend_says() -> None:
    sheet = sheet_of("left side")
    texts = [text for part in one_piece(sheet).contents for text in part.drawing.texts]
    said = " ".join(text.text for text in texts)
    assert "form ticks, plain numbers" in said
    assert "witness marks (A1)" in said
    labels = {mark.label for mark in sheet.pattern.marks}
    assert labels
    assert not any(label.isdigit() for label in labels)


@pytest.mark.parametrize("name", NAMES)
def test_the_deepest_place_is_marked_with_its_depth(name: str) -> None:
    """An upright cross in a ring at the guide's place; a leader where its words stand away."""
    sheet = sheet_of(name)
    deepest = form_guide_of(sheet).deepest
    assert deepest is not None
    drawing = pattern_drawing(sheet)
    cross = [line for line in of(drawing, Meaning.DEEPEST) if not line.closed]
    for arm in cross:
        assert arm.points.mean(axis=0) == pytest.approx(sheet.lay.on_paper(deepest.place))
    (words,) = [text for text in drawing.texts if text.text.startswith("deepest")]
    assert f"deepest {deepest.depth_mm:.0f} mm" in words.text
    place = shapely.Point(sheet.lay.on_paper(deepest.place))
    if shapely.Polygon(words.outline).distance(place) > 5.2:
        ends = np.array([line.points[-1] for line in of(drawing, Meaning.LEADER)])
        assert np.linalg.norm(ends - np.array(place.coords[0]), axis=1).min() < 0.5


@pytest.mark.parametrize("turn", [0.0, 0.7])
def test_the_middle_of_the_panel_is_drawn_and_named(turn: float) -> None:
    sheet = sheet_of("left side", turn=turn)
    guide, drawing = form_guide_of(sheet), pattern_drawing(sheet)
    assert not guide.is_tank_centre
    drawn = shapely.union_all([shapely.LineString(x.points) for x in of(drawing, Meaning.MIDDLE)])
    (line,) = guide.middle
    whole = shapely.LineString(sheet.lay.on_paper(line))
    assert shapely.hausdorff_distance(drawn, whole) < 90.0  # broken for the label
    assert shapely.distance(shapely.points(shapely.get_coordinates(drawn)), whole).max() < 1e-9
    assert drawn.length > 0.5 * whole.length
    assert "middle of the panel" in {text.text for text in drawing.texts}


@pytest.mark.parametrize("name", NAMES)
def test_stations_lie_as_on_the_arrangement_sheet_each_named_or_listed(name: str) -> None:
    sheet = sheet_of(name)
    drawing, found = pattern_drawing(sheet), sweeps_of(sheet)
    assert found
    on_paper = [shapely.LineString(sheet.lay.on_paper(sweep.points)) for sweep in found]
    every = shapely.union_all(on_paper)
    drawn = of(drawing, Meaning.STATION)
    ends = np.concatenate([line.points for line in drawn])
    assert shapely.distance(shapely.points(ends), every).max() < 1e-9
    told = {text.text.partition(":")[0] for text in drawing.texts}
    listed = " ".join(listed_words(sheet))
    for sweep in found:
        assert sweep.station in told or f"{sweep.station}: " in listed


@pytest.mark.parametrize("turn", [0.0, np.pi / 2.0])
def test_columns_and_rows_are_named_within_their_squares(turn: float) -> None:
    """Nearly every one with a whole square, in one of its own squares."""
    sheet = sheet_of("left side", turn=turn)
    squares, whole = squares_of(sheet), sheet.pattern.squares
    assert squares is not None
    assert whole is not None
    every = {squares.name(middle) for middle in whole.middles}
    columns = {f"col. {name.rstrip('0123456789')}" for name in every}
    rows = {f"row {name.lstrip('ABCDEFGHJKLMNPQRSTUVWXYZ')}" for name in every}
    told = {
        text.text: np.array(shapely.Polygon(text.outline).centroid.coords[0])
        for text in pattern_drawing(sheet).texts
        if text.text.startswith(("col. ", "row "))
    }
    assert len(told) > 0.8 * len(columns | rows)
    assert told.keys() <= columns | rows
    middles = sheet.lay.on_paper(whole.middles)
    for words, place in told.items():
        home = squares.name(whole.middles[np.linalg.norm(middles - place, axis=1).argmin()])
        column, row = re.fullmatch(r"([A-Z]+)(\d+)", home).groups()  # type: ignore[union-attr]
        assert words in (f"col. {column}", f"row {row}")


def test_cutting_files_carry_them_on_layers_of_their_own() -> None:
    """Read back by ezdxf: as many pointers as ticks, stations, never on the layer to cut."""
    sheet = sheet_of("left side")
    document = ezdxf.filemanagement.read(io.StringIO(dxf_bytes(sheet).decode()))
    space = document.modelspace()
    form = [entity for entity in space if entity.dxf.layer == "FORM"]
    closed = [entity for entity in form if isinstance(entity, LWPolyline) and entity.closed]
    guide = form_guide_of(sheet)
    assert len(closed) == len(guide.ticks) + 1  # and the ring of the deepest place
    assert [entity for entity in space if entity.dxf.layer == "STATION"]
    drawn = svg_bytes(sheet).decode()
    for what in ("NUMBERED_TICK_FOR_THE_FORM", "DEEPEST_PLACE", "MIDDLE_OF_THE_PANEL"):
        assert f'id="FORM_{what}"' in drawn
    assert 'id="STATION"' in drawn
    assert ">col. C</text>" in drawn


def test_without_a_cut_line_form_ticks_stand_at_the_net() -> None:
    sheet = sheet_of("left side")
    unproved = replace(sheet, job=replace(sheet.job, size_proved=False))
    places = np.array([tick.on_net for tick in form_guide_of(unproved).ticks])
    np.testing.assert_allclose(
        tips(pattern_drawing(unproved)), unproved.lay.on_paper(places), atol=1e-9
    )


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("show", ["mm", "in"])
def test_no_figure_stands_without_its_flat_length(name: str, show: str) -> None:
    """Every arrow has a number before it: on the blank and in the list."""
    sheet = sheet_of(name, show)
    told = [text.text for text in pattern_drawing(sheet).texts] + list(listed_words(sheet))
    arrows = [words for words in told if "\u2192" in words and any(c.isdigit() for c in words)]
    assert arrows
    for words in arrows:
        assert re.search(r"[\d.]+ \u2192 [\d.]", words), words

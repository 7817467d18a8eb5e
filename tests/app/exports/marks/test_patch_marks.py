"""What nobody scanned, and what was put there from the other side, is marked on every output."""

import csv
import io
from dataclasses import replace
from functools import cache

import ezdxf
import numpy as np
import pytest
import shapely

from app.exports import OverviewSheet, PanelSheet, marked_out_as_shown
from app.exports.drawing.drawing import Line, Meaning
from app.exports.drawing.page import Page
from app.exports.facing import Lay
from app.exports.files.csv import csv_bytes
from app.exports.files.dxf import dxf_bytes
from app.exports.files.pdf import pdf_bytes
from app.exports.marks.patch_marks import hatch, named, patch_sentences, texts_below
from app.exports.output import A4
from app.exports.pages import one_piece, tiled
from app.exports.pages.overview import overview_pages
from app.exports.pages.panel_drawing import pattern_drawing
from app.exports.pages.shape_map import shape_page
from app.exports.pages.tank_picture import one_panel_black, panels_coloured, view_of
from app.exports.words import FILLED_BY_GUESS
from geometry.pattern import Region, bare_pattern, with_centre_lines
from tests.app.exports.reading_back import reader
from tests.app.exports.sample_sheets import (
    PANEL_ANGLES,
    cut_panel,
    flat_panel,
    job_facts,
    on_tank,
    panel_sheet,
    tank_model,
)

MIRRORED = "MIRRORED FROM THE LEFT SIDE"
SPOTS = ((0.5, 1.0, 5.0), (0.2, 1.6, 9.0))


@cache
def marked_sheet() -> PanelSheet:
    """Return the left side with three guessed patches, its rear copied, and a character line."""
    panel, flat = cut_panel("left side"), flat_panel("left side")
    middle = panel.mesh.vertices[panel.mesh.faces].mean(axis=1)
    filled = panel.filled.copy()
    for along, around, radius in SPOTS:
        spot = on_tank(np.array(along), np.array(around))
        filled |= np.linalg.norm(middle - spot, axis=1) < radius
    copied = middle[:, 0] < -60.0
    line = on_tank(np.linspace(-0.7, 0.8, 60), np.full(60, 1.15))
    marked = replace(panel, filled=filled, copied=copied, lines=(line,))
    pattern = with_centre_lines(
        bare_pattern(flat, marked), flat, np.array([0.0, 40.0, 0.0]), np.array([0.0, 1.0, 0.0])
    )
    tank = tank_model()
    names = list(PANEL_ANGLES)
    first = tank.panel_of_face == names.index("left side")
    guessed, mirrored = (np.zeros(len(tank.faces), bool) for _ in range(2))
    guessed[first], mirrored[first] = filled, copied
    return PanelSheet(
        job_facts(copied_from="left"),
        "left side",
        flat,
        marked_out_as_shown(pattern, flat, show="mm", sheet_mm=1.6, least_mm=1.2),
        filled,
        replace(tank, filled=guessed, copied=mirrored),
        front_along_u=True,
        copied=copied,
    )


def text_of(content: bytes) -> list[str]:
    """Return the words of every page, spaces evened."""
    return [" ".join(page.extract_text().split()) for page in reader(content).pages]


def test_every_patch_over_5_mm_across_carries_its_words_on_the_full_size_blank() -> None:
    sheet = marked_sheet()
    patches = named(sheet.pattern.no_data)
    assert len(patches) == 3
    texts = pattern_drawing(sheet).texts
    told = [text for text in texts if text.text == FILLED_BY_GUESS]
    assert len(told) == len(patches)
    for region in patches:
        shape = shapely.Polygon(Lay("inside").on_paper(region.outline))
        near = min(shapely.Polygon(text.outline).distance(shape) for text in told)
        assert near < 20.0
    assert [text.text for text in texts].count(MIRRORED) == len(named(sheet.pattern.copied)) == 1


def test_no_words_hide_a_patch_nobody_scanned() -> None:
    """Words stand on white: over a patch they would take its hatch away, unless it is large."""
    sheet = marked_sheet()
    rings = [
        shapely.LinearRing(Lay("inside").on_paper(region.outline))
        for region in sheet.pattern.no_data
    ]
    for text in pattern_drawing(sheet).texts:
        ground = shapely.Polygon(text.outline)
        assert not any(ground.intersects(ring) for ring in rings), text.text


def test_small_patches_are_hatched_closer_so_that_lines_cross_them() -> None:
    sheet = marked_sheet()
    lines = [
        shapely.LineString(line.points)
        for line in pattern_drawing(sheet).lines
        if line.meaning is Meaning.NO_DATA and not line.closed
    ]
    for region in named(sheet.pattern.no_data):
        shape = shapely.Polygon(Lay("inside").on_paper(region.outline)).buffer(1e-6)
        assert sum(shape.covers(line) for line in lines) >= 4


@pytest.mark.parametrize("slope", [1.0, -1.0, 3.0])
def test_a_hatch_is_as_far_apart_as_asked(slope: float) -> None:
    """Length of lines a pitch apart over an area is area over pitch."""
    square = shapely.box(0.0, 0.0, 200.0, 160.0)
    lines = hatch(square, 2.0, slope, Meaning.COPIED)
    total = sum(float(np.linalg.norm(np.diff(line.points, axis=0))) for line in lines)
    assert total == pytest.approx(square.area / 2.0, rel=0.02)
    assert all(isinstance(line, Line) for line in lines)


def _front_pages(pages: list[Page]) -> list[Page]:
    """Return the key plan and the title before the tiles, which are clipped."""
    return [page for page in pages if page.contents[0].clip is None]


def test_every_page_that_shows_a_patch_says_what_its_hatch_means() -> None:
    sheet = marked_sheet()
    overview = OverviewSheet(sheet.job, sheet.tank, (sheet,))
    for pages in (
        [one_piece(sheet)], _front_pages(tiled(sheet, A4)), [shape_page(sheet)],
        overview_pages(overview),
    ):  # fmt: skip
        words = " ".join(text_of(pdf_bytes(pages, "x")))
        assert f"rossed hatch: {FILLED_BY_GUESS}" in words
        assert f"roken steep hatch: {MIRRORED}" in words


def test_a_tile_says_it_where_the_hatch_shows_on_it_and_nowhere_else() -> None:
    sheet = marked_sheet()
    pages = tiled(sheet, A4)
    words = text_of(pdf_bytes(pages, "x"))
    shown, front = 0, len(_front_pages(pages))
    for page, said in zip(pages[front:], words[front:], strict=True):
        clip = page.contents[0].clip
        assert clip is not None
        box = shapely.box(*clip)
        placed = page.contents[0].drawing.moved(page.contents[0].x, page.contents[0].y)
        for meaning, sentence in ((Meaning.NO_DATA, FILLED_BY_GUESS), (Meaning.COPIED, MIRRORED)):
            there = any(
                shapely.Polygon(line.points).intersects(box)
                for line in placed.lines
                if line.meaning is meaning and line.closed
            )
            assert (f"hatch: {sentence}" in said) == there
            shown += there
    assert 0 < shown < 2 * (len(pages) - front)


def test_the_key_plan_shows_the_patches() -> None:
    plan = tiled(marked_sheet(), A4)[0]
    meanings = {line.meaning for placed in plan.contents[1:2] for line in placed.drawing.lines}
    assert {Meaning.NO_DATA, Meaning.COPIED} <= meanings


def test_the_cutting_file_has_the_patches_on_their_layers_and_says_what_they_are() -> None:
    sheet = marked_sheet()
    document = ezdxf.read(io.StringIO(dxf_bytes(sheet).decode("utf-8")))  # type: ignore[attr-defined]
    space = document.modelspace()
    drawn = [entity.dxf.layer for entity in space.query("LWPOLYLINE")]
    assert drawn.count("NODATA") > 6
    told = [entity.dxf.text for entity in space.query("TEXT")]
    assert told.count(FILLED_BY_GUESS) == 3
    assert f"Crossed hatch: {FILLED_BY_GUESS} (layer NODATA)" in told
    assert f"Broken steep hatch: {MIRRORED} (layer PEN)" in told
    assert {"character line", "centre line of the tank"} <= set(told)


def test_the_table_marks_vertices_of_guessed_and_of_copied_faces() -> None:
    sheet = marked_sheet()
    rows = list(csv.DictReader(io.StringIO(csv_bytes(sheet).decode("ascii"))))
    assert list(rows[0])[-2:] == ["no_data", "copied"]
    for column, marked in (("no_data", sheet.filled), ("copied", sheet.copied)):
        assert marked is not None
        there = np.zeros(len(rows), bool)
        there[sheet.flat.faces[marked].ravel()] = True
        assert [row[column] == "1" for row in rows] == there.tolist()


def test_pictures_of_the_tank_show_the_patches_by_hatch() -> None:
    """The same picture without marks differs only where marks are, and there it does."""
    tank = marked_sheet().tank
    bare = replace(tank, filled=None, copied=None)
    view, plain = (view_of(each, 90.0, 25.0, 320, 200) for each in (tank, bare))
    assert view.guessed.sum() > 100
    assert view.copied.sum() > 1000
    marked = view.guessed | view.copied
    for drawn, before in (
        (panels_coloured(view, 14), panels_coloured(plain, 14)),
        (one_panel_black(view, 0), one_panel_black(plain, 0)),
    ):
        differs = (drawn != before).any(axis=2)
        assert not differs[~marked].any()
        assert differs[view.guessed].mean() > 0.2
        assert differs[view.copied & ~view.guessed].mean() > 0.02


def test_a_panel_without_patches_says_nothing_of_hatches() -> None:
    sheet = panel_sheet("top strip")
    assert patch_sentences(sheet) == []
    drawn = {line.meaning for line in pattern_drawing(sheet).lines}
    assert not drawn & {Meaning.NO_DATA, Meaning.COPIED}


@pytest.mark.parametrize(
    ("side", "words"),
    [("right", "MIRRORED FROM THE RIGHT SIDE"), ("", "MIRRORED FROM THE OTHER SIDE")],
)
def test_the_side_copied_from_is_named_where_it_is_one(side: str, words: str) -> None:
    sheet = replace(marked_sheet(), job=job_facts(copied_from=side))
    assert patch_sentences(sheet)[1].endswith(words)


def test_words_too_far_from_their_patch_are_led_to_it() -> None:
    """Three guessed strips so near the edge that their words stand off them."""
    sheet = marked_sheet()
    left, low = sheet.pattern.net.min(axis=0)
    strip = np.array([[0.0, 0.0], [8.0, 0.0], [8.0, 1.0], [0.0, 1.0]])
    middle = np.array([left + 0.5 * np.ptp(sheet.pattern.net[:, 0]), low + 3.0])
    regions = tuple(Region(middle + [60.0 * k, 0.0] + strip) for k in range(3))
    drawn = pattern_drawing(replace(sheet, pattern=replace(sheet.pattern, no_data=regions)))
    told = [text for text in drawn.texts if text.text == FILLED_BY_GUESS]
    assert len(told) == 3
    open_lines = [
        shapely.LineString(line.points)
        for line in drawn.lines
        if line.meaning is Meaning.NO_DATA and not line.closed
    ]
    for text in told:
        ground = shapely.Polygon(text.outline)
        shapes = [shapely.Polygon(Lay("inside").on_paper(region.outline)) for region in regions]
        if min(ground.distance(shape) for shape in shapes) >= 4.0:
            assert any(line.distance(ground) < 0.5 and line.length > 3.0 for line in open_lines)


def test_patches_near_each_other_are_told_about_once_and_all_led_to() -> None:
    """Three guessed squares 30 mm apart: one label, a line to every square it stands off."""
    sheet = marked_sheet()
    square = np.array([[0.0, 0.0], [8.0, 0.0], [8.0, 8.0], [0.0, 8.0]])
    middle = sheet.pattern.net.mean(axis=0) + [-150.0, -10.0]
    regions = tuple(Region(middle + [30.0 * k, 15.0 * k] + square) for k in range(3))
    drawn = pattern_drawing(replace(sheet, pattern=replace(sheet.pattern, no_data=regions)))
    (told,) = (text for text in drawn.texts if text.text.startswith(FILLED_BY_GUESS))
    assert told.text == f"{FILLED_BY_GUESS} (3 places)"
    ground = shapely.Polygon(told.outline)
    leaders = [
        shapely.LineString(line.points)
        for line in drawn.lines
        if line.meaning is Meaning.NO_DATA and not line.closed
    ]
    for region in regions:
        shape = shapely.Polygon(Lay("inside").on_paper(region.outline))
        led = any(line.distance(ground) < 0.5 and line.intersects(shape) for line in leaders)
        assert led or ground.distance(shape) < 4.0


def test_where_a_patch_finds_no_room_for_its_words_they_stand_below_the_blank() -> None:
    sheet = marked_sheet()
    lines = pattern_drawing(sheet).lines
    low = min(float(line.points[:, 1].min()) for line in lines)
    told = texts_below(sheet, (), lines)
    assert [text.text for text in told] == patch_sentences(sheet)
    assert all(text.box[3] < low for text in told)
    assert not texts_below(sheet, pattern_drawing(sheet).texts, lines)


def test_the_overviews_bar_touches_no_words_however_small_the_tank() -> None:
    sheet = marked_sheet()
    small = replace(sheet.tank, vertices=0.3 * sheet.tank.vertices)
    (page,) = overview_pages(OverviewSheet(sheet.job, small, (sheet,)))
    foot = page.contents[2].drawing
    bars = [line for line in foot.lines if line.meaning is Meaning.BAR]
    highest = max(float(line.points[:, 1].max()) for line in bars)
    assert max(float(line.points[:, 0].max()) for line in bars) > 84.0  # it reaches below them
    words = [text for text in foot.texts if "on the left picture" not in text.text]
    assert min(text.box[1] for text in words) > highest

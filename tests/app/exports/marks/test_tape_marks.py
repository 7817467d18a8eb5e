"""Ticks, gather numbers, grid squares, roll lines and thin places: read back and measured."""

import io
import re
from dataclasses import replace

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import PanelSheet, marked_out_as_shown
from app.exports.drawing.drawing import Drawing, Meaning, Text
from app.exports.drawing.strokes import STROKES
from app.exports.facing import Lay
from app.exports.files.dxf import dxf_bytes
from app.exports.files.pdf import pdf_bytes
from app.exports.pages import one_piece
from app.exports.pages.panel_drawing import listed_words, pattern_drawing
from app.exports.pages.shape_map import shape_page
from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, flatten
from geometry.pattern import dress
from tests.app.exports.reading_back import reader, strokes
from tests.app.exports.sample_sheets import job_facts, panel_sheet, tank_model
from tests.bodies import cone_sheet, dome

FLAT_TO_FORMED = re.compile(r"^([\d.]+) \u2192 ([\d.]+)(?:, (shrink|stretch) ([\d.]+))?$")
LISTED_PIECE = re.compile(r"(cut line along )?edge \w+, [^:]* to [^:]*: (.*)$")
NAMES = ("left side", "top strip", "right side")


def shown_in(show: str, name: str = "left side", least_mm: float = 1.2) -> PanelSheet:
    sheet = panel_sheet(name, show=show, least_mm=least_mm)
    return _shown(sheet)


def _shown(sheet: PanelSheet) -> PanelSheet:
    job = sheet.job
    pattern = marked_out_as_shown(
        sheet.pattern,
        sheet.flat,
        show=job.show,
        sheet_mm=job.thickness_mm,
        least_mm=job.least_mm,
    )
    return replace(sheet, pattern=pattern)


def ready_cut(flat: FlatPanel, **facts: object) -> PanelSheet:
    """Return a body by itself as the left side of the sample tank's job."""
    filled = np.zeros(len(flat.faces), np.bool_)
    return _shown(
        PanelSheet(job_facts(**facts), "left side", flat, dress(flat), filled, tank_model())
    )


def thin_dome(show: str = "mm") -> PanelSheet:
    return ready_cut(flatten(dome(160.0, np.radians(60.0), 16)), show=show, least_mm=1.5)


def pen_lines(sheet: PanelSheet) -> list[LWPolyline]:
    document = ezdxf.filemanagement.read(io.StringIO(dxf_bytes(sheet).decode()))
    every = document.modelspace().query("LWPOLYLINE")
    return [e for e in every if isinstance(e, LWPolyline) and e.dxf.layer == "PEN"]


def ticks_on_paper(sheet: PanelSheet) -> list[FloatArray]:
    """Return the two ends of every tick of the page, outer end first, in the blank's places."""
    content = pdf_bytes([one_piece(sheet)], "ticks")
    wide = STROKES[Meaning.TICK].width_mm
    lines = [s for s in strokes(content) if abs(s.width - wide) < 1e-4 and not s.dashes]
    net = next(s for s in strokes(content) if abs(s.width - STROKES[Meaning.NET].width_mm) < 1e-4)
    shift = net.points[0] - sheet.lay.on_paper(sheet.pattern.net)[0]
    return [
        sheet.lay.on_paper(line.points - shift)
        for line in lines
        if len(line.points) == 2 and line.points[:, 1].min() > net.points[:, 1].min() - 20.0
    ]


@pytest.mark.parametrize(("show", "apart"), [("mm", 100.0), ("in", 101.6)])
def test_ticks_on_paper_stand_a_tape_apart_on_the_net_and_on_the_cut_line(
    show: str, apart: float
) -> None:
    """From tick to tick along the line as printed.

    PDF keeps places to 0.0005 mm; the cut line is thinned by 0.002 mm and ticks follow the rim's
    mean direction, not its chords: all within 0.01 mm.
    """
    sheet = shown_in(show)
    pattern = sheet.pattern
    assert pattern.trim is not None
    ends = ticks_on_paper(sheet)
    count = sum(len(gather.places) - 2 for gather in (*pattern.gathers, *pattern.cut_gathers))
    assert len(ends) == count > 8
    lines = ((pattern.net, pattern.gathers), (pattern.trim, pattern.cut_gathers))
    printed = 0
    for line, gathers in lines:
        ring = shapely.LinearRing(line)
        outer = np.array([end[0] for end in ends])
        mine = outer[shapely.distance(shapely.points(outer), ring) < 0.01]
        printed += len(mine)
        for gather in gathers:
            inner = gather.places[1:-1]
            gaps = np.linalg.norm(mine[:, None] - inner, axis=2).min(axis=0, initial=1e9)
            assert (gaps < 0.01).all()
            at = shapely.line_locate_point(ring, shapely.points(inner))
            apart_printed = np.diff(at) % ring.length
            np.testing.assert_allclose(apart_printed, apart, atol=0.01)
    assert printed == count


def _margin_and_inside(sheet: PanelSheet) -> tuple[list[Text], list[Text]]:
    net = shapely.Polygon(sheet.lay.on_paper(sheet.pattern.net))
    told = [text for text in pattern_drawing(sheet).texts if FLAT_TO_FORMED.match(text.text)]
    inside = [text for text in told if net.contains(shapely.Polygon(text.outline))]
    margin = [text for text in told if not net.intersects(shapely.Polygon(text.outline))]
    assert len(inside) + len(margin) == len(told)
    return margin, inside


def read_pair(words: str) -> tuple[float, float]:
    """Return flat and formed of a piece."""
    match = FLAT_TO_FORMED.match(words)
    assert match is not None
    flat, formed = float(match[1]), float(match[2])
    if match[3]:
        by = float(match[4])
        assert formed - flat == pytest.approx(by if match[3] == "stretch" else -by)
    return flat, formed


@pytest.mark.parametrize("turn", [0.0, 0.7])
@pytest.mark.parametrize("name", NAMES)
def test_every_piece_a_tape_can_tell_is_told_at_net_and_cut_line_or_in_the_list(
    name: str, turn: float
) -> None:
    """Read back: flat less shrink is formed, to the half millimetre; margin within the cut line."""
    sheet = replace(shown_in("mm", name), turn_rad=turn)
    pattern = sheet.pattern
    assert pattern.trim is not None
    cut = shapely.Polygon(sheet.lay.on_paper(pattern.trim))
    margin, inside = _margin_and_inside(sheet)
    listed = [LISTED_PIECE.search(row) for row in listed_words(sheet)]
    for texts, gathers, line in (
        (inside, pattern.gathers, None),
        (margin, pattern.cut_gathers, "cut line along "),
    ):
        expected = sorted(
            (round(2 * flat) / 2, round(2 * formed) / 2)
            for gather in gathers
            for flat, formed in zip(gather.flat_mm.tolist(), gather.formed_mm.tolist(), strict=True)
            if round(2 * flat) != round(2 * formed)
        )
        found = [read_pair(text.text) for text in texts]
        found += [read_pair(row[2]) for row in listed if row is not None and row[1] == line]
        assert sorted(found) == expected
    assert all(cut.contains(shapely.Polygon(text.outline)) for text in margin)


def test_without_a_cut_line_nothing_is_told_about_one() -> None:
    sheet = shown_in("mm")
    unproved = replace(sheet, job=replace(sheet.job, size_proved=False))
    margin, inside = _margin_and_inside(unproved)
    assert inside
    assert not margin
    page = reader(pdf_bytes([one_piece(unproved)], "x")).pages[0].extract_text()
    assert "along the cut line" not in page


def _square_rows(drawing: Drawing) -> list[Text]:
    return [text for text in drawing.texts if text.text[0] in "\u2194\u2195"]


@pytest.mark.parametrize("show", ["mm", "in"])
def test_numbers_of_a_square_stand_in_it_and_touch_no_line(show: str) -> None:
    sheet = (
        thin_dome()
        if show == "mm"
        else _shown(replace(thin_dome(), job=job_facts(show="in", least_mm=1.35)))
    )
    squares = sheet.pattern.squares
    assert squares is not None
    drawing = pattern_drawing(sheet)
    rows = _square_rows(drawing)
    assert len(rows) > 20
    lines = shapely.STRtree(
        [
            shapely.LinearRing(line.points) if line.closed else shapely.LineString(line.points)
            for line in drawing.lines
        ]
    )
    middles = sheet.lay.on_paper(squares.middles)
    for text in rows:
        ground = shapely.Polygon(text.outline)
        assert not len(lines.query(ground, predicate="intersects")), text.text
        assert text.angle_deg == 0.0
        middle = np.array(ground.centroid.coords[0])
        home = int(np.abs(middles - middle).max(axis=1).argmin())
        assert np.abs(middles[home] - middle).max() < squares.side_mm / 2.0
        if show == "mm":
            formed = squares.formed_mm[home, 0 if text.text[0] == "\u2194" else 1]
            assert abs(float(text.text.split()[-1]) - formed) <= 0.25


def test_thin_places_are_on_the_pen_layer_with_their_figure() -> None:
    """Outline and mark read back from the cutting file; the figure is the answer's own."""
    sheet = thin_dome()
    pattern = sheet.pattern
    assert pattern.thinnest is not None
    (region,) = pattern.thin_regions
    pen = pen_lines(sheet)
    rings = [np.array(e.get_points("xy")) for e in pen if e.closed]
    exact = shapely.Polygon(Lay("inside").on_paper(region.outline))
    assert any(
        len(ring) == len(region.outline)
        and shapely.Polygon(ring).symmetric_difference(exact).area < 1e-6
        for ring in rings
    )
    mark = Lay("inside").on_paper(pattern.thinnest.place)
    crossing = [
        e for e in pen if not e.closed and np.allclose(np.mean(e.get_points("xy"), axis=0), mark)
    ]
    assert len(crossing) >= 2
    document = ezdxf.filemanagement.read(io.StringIO(dxf_bytes(sheet).decode()))
    words = {e.dxf.text for e in document.modelspace().query("TEXT")}
    thick = 1.6 * pattern.thinnest.ratio
    assert f"thinnest {thick:.2f} mm (.0{thick / 0.0254:.0f} in)" in words
    assert "thinner than your least, 1.5 mm (.059 in)" in words
    assert shapely.Polygon(region.outline).contains(shapely.Point(pattern.thinnest.place))


def test_the_map_shows_the_thin_place_too_and_nothing_where_metal_is_thick_enough() -> None:
    deep = reader(pdf_bytes([shape_page(thin_dome())], "map")).pages[0].extract_text()
    rows_joined = " ".join(deep.split())
    assert "thinnest 1." in rows_joined
    assert "thinner than your least, 1.5 mm (.059 in)" in rows_joined
    plain = shown_in("mm")
    assert plain.pattern.thin_regions == ()
    page = reader(pdf_bytes([one_piece(plain)], "page")).pages[0].extract_text()
    assert "your least" not in page


def test_a_cone_s_roll_lines_carry_their_sweep_at_both_ends() -> None:
    """R along a generator is the cone's radius over the cosine of its slope; whole millimetres.

    Facets of 5 degrees and averaging over neighbours: within 3 mm.
    """
    base, top, height = 170.0, 90.0, 260.0
    slope = np.hypot(height, base - top) / height
    sheet = ready_cut(flatten(cone_sheet(base, top, height, np.radians(150.0), (40, 20))))
    drawing = pattern_drawing(sheet)
    rolls = sheet.pattern.rolls
    assert len(rolls) >= 8
    short = [float(t.text[2:]) for t in drawing.texts if re.fullmatch(r"R \d+", t.text)]
    full = [t for t in drawing.texts if t.text.endswith(", roll UP")]
    assert len(full) >= len(rolls) - 1
    assert len(short) >= 2 * len(rolls) - 3
    assert min(short) == pytest.approx(slope * (top + 0.08 * (base - top)), abs=3.0)
    assert max(short) == pytest.approx(slope * (top + 0.92 * (base - top)), abs=3.0)
    courses = [shapely.LineString(sheet.lay.on_paper(roll.points)) for roll in rolls]
    for text in full:
        ground = shapely.Polygon(text.outline)
        gap = min(course.distance(ground) for course in courses)
        assert 0.0 < gap < 4.5
    layers = {
        e.dxf.layer
        for e in ezdxf.filemanagement.read(io.StringIO(dxf_bytes(sheet).decode()))
        .modelspace()
        .query("LWPOLYLINE")
    }
    assert "ROLL" in layers


def test_the_panel_s_label_stays_readable_among_roll_lines() -> None:
    sheet = ready_cut(flatten(cone_sheet(170.0, 90.0, 260.0, np.radians(150.0), (40, 20))))
    face = [t for t in pattern_drawing(sheet).texts if t.text.startswith("MARK THIS FACE")]
    assert [text.height_mm for text in face] == [5.0]


def test_contours_in_inches_are_round_inches_per_foot() -> None:
    """What is printed on them is the level itself, to the last digit."""
    sheet = shown_in("in")
    inches = 12.0 * sheet.pattern.levels
    assert len(inches) >= 3
    step = np.diff(inches).min()
    assert min(abs(step - known) for known in (0.05, 0.1, 0.25, 0.5, 1.0)) < 1e-6
    np.testing.assert_allclose(inches / step, np.round(inches / step), atol=1e-6)
    printed = {t.text for t in pattern_drawing(sheet).texts if re.match(r"^[+\u2212]\.?\d", t.text)}
    assert printed
    for words in printed:
        value = float(words.replace("\u2212", "-"))
        assert np.abs(inches - value).min() < 1e-6


def test_pages_in_inches_are_the_same_every_time() -> None:
    one, two = (pdf_bytes([one_piece(shown_in("in"))], "x") for _ in range(2))
    assert one == two

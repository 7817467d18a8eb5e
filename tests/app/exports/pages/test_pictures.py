"""The shape map, the overview and the depth buffer, looked at by number."""

import io

import numpy as np
import pytest
import shapely
from PIL import Image

from app.exports import OverviewSheet
from app.exports.drawing.drawing import Meaning, Text
from app.exports.drawing.page import A4
from app.exports.files.pdf import pdf_bytes
from app.exports.pages.overview import overview_pages
from app.exports.pages.shape_map import bands, shape_drawing, shape_page, shape_png
from app.exports.pages.tank_picture import (
    best_view_of_panel,
    nearest_face,
    one_panel_black,
    panels_coloured,
    picture_scale,
    view_of,
)
from geometry.arrays import FloatArray
from tests.app.exports.reading_back import MM, reader
from tests.app.exports.sample_sheets import PANEL_ANGLES, SEMI_AXES, panel_sheet, tank_model


def _luminance(colour: tuple[float, float, float]) -> float:
    """Rec. 709 weights (ITU-R BT.709), without gamma: enough to order greys."""
    return 0.2126 * colour[0] + 0.7152 * colour[1] + 0.0722 * colour[2]


def test_the_nearest_face_hides_the_farther_one() -> None:
    square = np.array([[2.0, 2], [18, 2], [18, 18], [2, 18]])
    near = np.column_stack([square, np.full(4, 5.0)])
    far = np.column_stack([square + np.array([6, 0]), np.full(4, 1.0)])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    seen = nearest_face(np.concatenate([far, near]), np.concatenate([faces, faces + 4]), 30, 20)
    assert np.isin(seen[2:18, 2:18], [2, 3]).all()
    assert np.isin(seen[2:18, 18:24], [0, 1]).all()
    assert (seen >= 0).sum() == 16 * 16 + 16 * 6


def test_faces_of_all_sizes_cover_without_gaps() -> None:
    rng = np.random.default_rng(5)
    points = np.concatenate(
        [[[0.0, 0], [60, 0], [60, 40], [0, 40]], rng.random((30, 2)) * [60, 40]]
    )
    from scipy.spatial import Delaunay

    seen = nearest_face(
        np.column_stack([points, np.zeros(len(points))]),
        Delaunay(points).simplices.astype(np.int64),
        60,
        40,
    )
    assert (seen >= 0).all()


def test_the_picture_s_scale_is_that_of_the_body_in_it() -> None:
    """From straight above an ellipsoid shows its semi-axes a, b; the ends are cut off here."""
    view = view_of(tank_model(), 90.0, 89.9, 400, 300)
    scale = picture_scale(tank_model(), 90.0, 89.9, 400, 300)
    rows, columns = np.nonzero(view.panel >= 0)
    tall = SEMI_AXES[1] * 2.0 * scale
    assert np.ptp(rows) + 1 == pytest.approx(tall, abs=2.5)
    assert np.ptp(columns) + 1 == pytest.approx(
        np.ptp(tank_model().vertices[:, 0]) * scale, abs=2.5
    )


def test_each_thumbnail_shows_its_own_panel_black_and_largest() -> None:
    tank = tank_model()
    for index, name in enumerate(PANEL_ANGLES):
        view = best_view_of_panel(tank, index, 200, 150)
        black = (one_panel_black(view, index) == 0).all(axis=2)
        assert (view.panel[black] == index).all(), name
        assert view.seen_pixels(index) > 0.35 * (view.panel >= 0).sum()


def test_left_and_right_are_seen_from_their_own_sides() -> None:
    """Facing the left side the front is on the viewer's left, facing the right on the right."""
    tank = tank_model()
    for index, way in ((0, -1.0), (2, 1.0)):
        view = best_view_of_panel(tank, index, 200, 150)
        assert view.front_on_page is not None
        assert np.sign(view.front_on_page[0]) == way


def test_neighbouring_panels_differ_in_hatch_also_without_colour() -> None:
    view = view_of(tank_model(), 40.0, 28.0, 600, 400)
    grey = panels_coloured(view, 20).astype(np.float64).sum(axis=2) / 3.0
    shares = []
    for panel in range(3):
        part = grey[view.panel == panel]
        shares.append(float((part < 0.85 * np.median(part)).mean()))
    assert all(share > 0.05 for share in shares)


def test_stronger_bands_are_darker_and_hatched_closer_and_signs_lean_apart() -> None:
    every = bands(np.array([-0.06, -0.04, -0.02, 0.02, 0.04]))
    for sign in (1.0, -1.0):
        side = [band for band in every if band.level * sign > 0]
        light = [_luminance(band.colour) for band in side]
        assert light == sorted(light, reverse=True)
        assert len(set(light)) == len(light)
        pitches = [band.pitch_mm for band in side]
        assert pitches == sorted(pitches, reverse=True)
        assert {band.slope for band in side} == {sign}
    assert min(_luminance(band.colour) for band in every) > 0.45  # black numbers stay legible


def test_bands_on_the_map_cover_what_changes_that_much() -> None:
    """Areas of fills against areas of faces beyond the level: they agree to a row of triangles."""
    sheet = panel_sheet("left side")
    drawing = shape_drawing(sheet, lambda points: points)
    outer = {fill.colour: 0.0 for fill in drawing.fills}
    for fill in drawing.fills:
        rings = [shapely.Polygon(loop).area for loop in fill.loops]
        outer[fill.colour] += rings[0] - sum(rings[1:])
    weakest_shrink = next(band for band in bands(sheet.pattern.levels) if band.level < 0)
    corners = sheet.flat.flat_vertices[sheet.flat.faces]
    areas = np.asarray(shapely.area(shapely.polygons(corners)), np.float64).reshape(-1)
    logs = np.log(sheet.flat.stretches).sum(axis=1)
    faces = (sheet.flat.stretches[:, 1] - 1.0 <= weakest_shrink.level) & (logs < 0.0)
    assert outer[weakest_shrink.colour] == pytest.approx(areas[faces].sum(), rel=0.06)


def test_the_map_carries_hatch_contours_and_numbers_besides_colour() -> None:
    drawing = shape_drawing(panel_sheet("left side"), lambda points: points)
    meanings = {line.meaning for line in drawing.lines}
    assert {Meaning.HATCH, Meaning.NO_DATA, Meaning.STRETCH_CONTOUR, Meaning.SHRINK_CONTOUR} <= (
        meanings
    )
    words = {text.text for text in drawing.texts}
    assert {"+2", "\u22122", "\u22124"} <= words
    assert any(text.startswith("most shrink \u2212") for text in words)
    assert any(text.startswith("most stretch +") for text in words)


def test_the_worst_places_of_the_map_are_told_level_and_led_to() -> None:
    """A thin line runs from every one of the three to its place, and through no words."""
    sheet = panel_sheet("left side")
    drawing = shape_drawing(sheet, lambda points: 0.4 * points)
    told = [text for text in drawing.texts if text.text.startswith(("most s", "thinnest"))]
    assert len(told) == 3
    assert [text.angle_deg for text in told] == [0.0, 0.0, 0.0]
    leaders = [line.points for line in drawing.lines if line.meaning is Meaning.LEADER]
    change, thinnest = sheet.pattern.shape.change, sheet.pattern.thinnest
    assert thinnest is not None
    spots = [sheet.flat.flat_vertices[at] for at in (change.argmax(), change.argmin())]
    for spot in (*spots, thinnest.place):
        ends = [way for way in leaders if np.linalg.norm(way - 0.4 * spot, axis=1).min() < 1e-6]
        near = [text for text in told if _off(text, 0.4 * spot) < 0.5]
        assert ends or near
    grounds = [shapely.Polygon(text.outline).buffer(-0.2) for text in drawing.texts]
    for way in leaders:
        assert not any(ground.intersects(shapely.LineString(way)) for ground in grounds)


def _off(text: Text, place: FloatArray) -> float:
    return float(shapely.distance(shapely.Polygon(text.outline), shapely.Point(place)))


def test_the_map_page_says_who_what_and_that_it_is_not_full_size() -> None:
    content = pdf_bytes([shape_page(panel_sheet("left side"))], "x")
    (page,) = reader(content).pages
    assert float(page.mediabox.width) * MM == pytest.approx(A4[1], abs=1e-3)
    text = " ".join(page.extract_text().split())
    for words in (
        "SHAPE MAP, LEFT SIDE",
        "MARK THIS FACE: INSIDE",
        "MAKES THE LEFT SIDE",
        "scale 1:",
        "SIZE PROVED by 2 tapes",
        "100 mm",
        "Shop aid, not an approval.",
        "FRONT",
    ):
        assert words in text, words


def test_the_png_is_the_pdf_s_page_and_the_same_every_time() -> None:
    content = pdf_bytes([shape_page(panel_sheet("left side"))], "x")
    picture = Image.open(io.BytesIO(shape_png(content)))
    assert picture.size == pytest.approx((A4[1] / 25.4 * 150, A4[0] / 25.4 * 150), abs=1.5)
    pixels = np.asarray(picture.convert("RGB"), np.float64)
    coloured = (np.ptp(pixels, axis=2) > 40).mean()
    assert 0.05 < coloured < 0.6
    assert shape_png(content) == shape_png(content)


def test_the_overview_lists_every_panel_with_its_numbers() -> None:
    sheets = [panel_sheet(name) for name in PANEL_ANGLES]
    content = pdf_bytes(overview_pages(OverviewSheet(sheets[0].job, tank_model(), sheets)), "x")
    (page,) = reader(content).pages
    text = " ".join(page.extract_text().split())
    for sheet in sheets:
        assert text.count(sheet.panel) >= 2  # in a picture and in the table
        assert f"{sheet.flat.formed_area / 100:.0f} cm\u00b2" in text
    for words in ("OVERVIEW", "most shrink", "463 x 174 mm (18 1/4 x 6 7/8 in)", "SIZE PROVED"):
        assert words in text


def test_many_panels_run_on_to_further_pages_and_none_is_lost() -> None:
    sheets = [panel_sheet("left side")] * 40
    pages = overview_pages(OverviewSheet(sheets[0].job, tank_model(), sheets))
    text = " ".join(page.extract_text() for page in reader(pdf_bytes(pages, "x")).pages)
    assert len(pages) > 1
    assert text.count("660 cm") == 40

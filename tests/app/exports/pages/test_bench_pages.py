"""The bench pages: arrangement, finding the blank in the form, grid."""

import itertools
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from app.exports import PanelSheet, TankModel
from app.exports.drawing import Drawing, Meaning, Page, Text
from app.exports.facts import told_of
from app.exports.marks import is_only_bent, station_axes, sweeps_of, tank_stations
from app.exports.pages import bench_pages
from app.exports.pages.arrangement import arrangement_pages
from app.exports.pages.bench_page import FittedBlank, fitted_blank, noted, whole_list
from app.exports.pages.form_page import form_pages
from app.exports.pages.grid_page import grid_pages
from app.exports.pages.in_sight import PICTURE_MM, sight_of_panel
from app.exports.words import CAUTION
from geometry.arrays import FloatArray
from geometry.blank import flatten, laid_along
from geometry.mesh import TriMesh
from geometry.pattern import dress, form_guide, named_grid
from tests.app.exports.sample_sheets import job_facts, panel_sheet
from tests.bodies import cylinder_sheet, dome

KINDS = {"arrangement": arrangement_pages, "form": form_pages, "grid": grid_pages}
LEAST_MM = 2.5


@cache
def sheet_of(name: str = "left side", show: str = "mm") -> PanelSheet:
    return panel_sheet(name, show=show)


@cache
def pages_of(kind: str, name: str = "left side", show: str = "mm") -> tuple[Page, ...]:
    return tuple(KINDS[kind](sheet_of(name, show)))


@cache
def lone_sheet(kind: str) -> PanelSheet:
    """Return a tank of one panel with a closed form."""
    if kind == "rolled":
        inside_out = cylinder_sheet(145.8, 1.7, 300.0, 40, 30)
        mesh = TriMesh(inside_out.vertices, inside_out.faces[:, ::-1])
    else:
        mesh = dome(160.0, 1.4 if kind == "deep" else 0.7, 16)
    flat = laid_along(flatten(mesh), np.array([1.0, 0.0, 0.0]))
    tank = TankModel(
        mesh.vertices,
        mesh.faces,
        np.zeros(len(mesh.faces), np.int64),
        ("top",),
        np.array([1.0, 0.0, 0.0]),
        np.array([0.0, 0.0, 1.0]),
    )
    filled = np.zeros(len(mesh.faces), bool)
    return PanelSheet(job_facts(), "top", flat, dress(flat), filled, tank, front_along_u=True)


def texts(page: Page) -> list[Text]:
    """Return the words of a page but those of its foot, where they stand."""
    return [
        text for part in page.contents[:-1] for text in part.drawing.moved(part.x, part.y).texts
    ]


def words(page: Page) -> str:
    return " ".join(text.text for part in page.contents for text in part.drawing.texts)


def drawn_on(page: Page) -> list[Drawing]:
    """Return the blank's drawing and the picture's: those with a net line."""
    return [
        part.drawing
        for part in page.contents
        if any(line.meaning is Meaning.NET for line in part.drawing.lines)
    ]


EVERY = [
    (kind, name, show)
    for kind in KINDS
    for name, show in (("left side", "mm"), ("top strip", "in"))
]


@pytest.mark.parametrize(("kind", "name", "show"), EVERY)
def test_every_page_carries_its_labels_and_says_that_it_is_not_full_size(
    kind: str, name: str, show: str
) -> None:
    first, *more = pages_of(kind, name, show)
    for page in (first, *more):
        told = words(page)
        for label in (name.upper(), "MARK THIS FACE: INSIDE", f"MAKES THE {name.upper()}", CAUTION):
            assert label in told
    assert "NOT FULL SIZE" in words(first)
    assert "Do not cut from it." in words(first)


@pytest.mark.parametrize(("kind", "name", "show"), EVERY)
def test_words_are_tall_enough_level_and_on_the_page(kind: str, name: str, show: str) -> None:
    for page in pages_of(kind, name, show):
        for text in texts(page):
            assert text.height_mm >= LEAST_MM
            assert text.angle_deg in (0.0, 90.0)
            left, bottom, right, top = text.box
            assert left >= 5.0
            assert bottom >= 5.0
            assert right <= page.width_mm - 5.0
            assert top <= page.height_mm - 5.0


@pytest.mark.parametrize(("kind", "name", "show"), EVERY)
def test_no_words_cross_a_line_or_other_words(kind: str, name: str, show: str) -> None:
    for drawing in drawn_on(pages_of(kind, name, show)[0]):
        tree = shapely.STRtree(
            [
                shapely.LinearRing(line.points) if line.closed else shapely.LineString(line.points)
                for line in drawing.lines
                if len(line.points) > 1
            ]
        )
        boxes = [shapely.Polygon(text.outline).buffer(-0.3) for text in drawing.texts]
        crossing = tree.query(boxes, predicate="intersects")[0]
        assert [drawing.texts[at].text for at in sorted(set(crossing.tolist()))] == []
        among = shapely.STRtree(boxes).query(boxes, predicate="intersects")
        assert (among[0] == among[1]).all()


def blank_of(sheet: PanelSheet) -> FittedBlank:
    _, box = noted(sheet, ["one sentence"])
    return fitted_blank(sheet, box)


def test_a_small_blank_is_drawn_full_size_with_bars() -> None:
    flat = flatten(dome(40.0, 0.7, 8))
    lone = lone_sheet("dome")
    mesh = dome(40.0, 0.7, 8)
    tank = replace(lone.tank, vertices=mesh.vertices, faces=mesh.faces)
    tank = replace(tank, panel_of_face=np.zeros(len(mesh.faces), np.int64))
    small = replace(
        lone, flat=flat, pattern=dress(flat), filled=np.zeros(len(mesh.faces), bool), tank=tank
    )
    blank = blank_of(small)
    assert blank.scale == 1.0
    page = grid_pages(small)[0]
    assert "drawn full size" in words(page)
    assert any(line.meaning is Meaning.BAR for line in page.contents[-1].drawing.lines)


# Arrangement.


def test_a_rolled_panel_is_told_by_roll_lines_that_end_at_its_edge() -> None:
    """Middle radius 145.8 less half of 1.6 mm: inside R 145, to 1 % as roll lines are held.

    The marked face is the inside, hollow towards the maker: the metal comes UP to them.
    """
    sheet = lone_sheet("rolled")
    assert is_only_bent(sheet)
    page = arrangement_pages(sheet)[0]
    drawn = [line for drawing in drawn_on(page)[:1] for line in drawing.lines]
    rolls = [line for line in drawn if line.meaning is Meaning.ROLL]
    assert len(rolls) >= 4
    assert not [line for line in drawn if line.meaning is Meaning.STATION]
    told = [text.text for text in texts(page) if text.text.startswith("inside R")]
    assert len(told) >= len(rolls)
    for sentence in told:
        found = re.fullmatch(r"inside R (\d+) \(5 (11/16|3/4)\), roll UP", sentence)
        assert found is not None
        assert float(found[1]) == pytest.approx(145.0, rel=0.01)
    other = arrangement_pages(replace(sheet, job=replace(sheet.job, marked_face="outside")))[0]
    assert "roll DOWN" in words(other)
    assert "roll UP" not in words(other)
    net = shapely.LinearRing(sheet.pattern.net)
    for roll in sheet.pattern.rolls:
        ends = roll.points[[0, -1]]
        assert shapely.distance(shapely.points(ends), net).max() < 1e-6


def test_a_crowned_panel_has_no_roll_lines_but_sweeps_both_ways() -> None:
    sheet = sheet_of()
    assert not is_only_bent(sheet)
    page = pages_of("arrangement")[0]
    drawn = [line for drawing in drawn_on(page) for line in drawing.lines]
    assert not [line for line in drawn if line.meaning is Meaning.ROLL]
    names = {sweep.station for sweep in sweeps_of(sheet)}
    assert {name[0] for name in names} == {"S", "H"}
    assert all(name in words(page) for name in names)
    shapes = (Meaning.STRETCH_CONTOUR, Meaning.SHRINK_CONTOUR, Meaning.HATCH)
    assert not [line for line in drawn if line.meaning in shapes]


def test_stations_of_a_ball_tell_the_radius_at_each() -> None:
    """Root (R^2 - d^2) less half a sheet, on the inside face; d from the ball's middle.

    Facets of 7 mm lie up to 0.04 mm inside the ball: 1 % of the bend of the shortest line.
    """
    sheet = lone_sheet("dome")
    half = sheet.job.thickness_mm / 2.0
    stations = {
        station.name: station
        for axis in station_axes(sheet)
        for station in tank_stations(sheet.tank, "mm").along[axis]
    }
    found = sweeps_of(sheet)
    assert len(found) >= 6
    for sweep in found:
        station = stations[sweep.station]
        off = float(station.point @ station.normal)
        assert sweep.is_one_arc
        truth = np.sqrt(160.0**2 - off**2)
        assert 1.0 / sweep.curvature == pytest.approx(truth, rel=1.2e-2)
        told = f"R {round(1.0 / sweep.curvature - half)}"
        assert told in words(arrangement_pages(sheet)[0])


def test_the_same_station_is_the_same_plane_on_every_panel() -> None:
    left, top = sheet_of("left side"), sheet_of("top strip", "in")
    assert tank_stations(left.tank, "mm") is tank_stations(top.tank, "mm")
    spacing = tank_stations(left.tank, "mm").spacing_mm
    assert all(50.0 <= step <= 100.0 for step in spacing)
    assert all(50.8 <= step <= 101.6 for step in tank_stations(top.tank, "in").spacing_mm)


def test_without_a_datum_the_stations_say_what_they_stand_square_to() -> None:
    sheet = sheet_of()
    unset = replace(sheet, tank=replace(sheet.tank, front=None, up=None), front_along_u=False)
    told = "FRONT NOT SET: the tank's longest way stands for it"
    assert told in " ".join(words(arrangement_pages(unset)[0]).split())
    assert told not in " ".join(words(pages_of("arrangement")[0]).split())


# Lines in sight.


def test_a_line_behind_the_metal_is_left_out() -> None:
    """On a dome seen from the side and above, a ring low round it shows its near part only."""
    tank = lone_sheet("dome").tank
    sight = sight_of_panel(tank, "top")
    turn = np.linspace(0.0, 2.0 * np.pi, 240)
    low = 160.0 * np.stack(
        [np.sin(0.6) * np.cos(turn), np.sin(0.6) * np.sin(turn), np.full_like(turn, np.cos(0.6))], 1
    )
    shown = sight.in_sight(low)
    normals = low / 160.0
    facing = normals @ sight.axes[2]
    assert shown[facing > 0.15].all()
    assert not shown[facing < -0.15].any()
    inside = 0.8 * low
    assert not sight.in_sight(inside[facing > 0.3]).any()


def test_a_places_picture_is_its_projection() -> None:
    """Moved by 10 mm along the picture's right it moves by 10 times the scale, and not up."""
    sight = sight_of_panel(lone_sheet("dome").tank, "top")
    points = np.array([[0.0, 0.0, 160.0], [0.0, 0.0, 160.0]])
    points[1] += 10.0 * sight.axes[0]
    first, second = sight.on_picture(points)
    np.testing.assert_allclose(second - first, [10.0 * sight.scale, 0.0], atol=1e-9)
    assert (sight.on_picture(lone_sheet("dome").tank.vertices) <= PICTURE_MM).all()


# Finding the blank in the form.


def near(text: Text, place: FloatArray) -> float:
    left, bottom, right, top = text.box
    box = shapely.box(left, bottom, right, top)
    return float(box.distance(shapely.Point(place)))


@pytest.mark.parametrize(("name", "show"), [("left side", "mm"), ("top strip", "in")])
def test_a_ticks_number_stands_by_it_and_in_the_list(name: str, show: str) -> None:
    sheet = sheet_of(name, show)
    spacing = 50.0 if show == "mm" else 50.8
    guide = form_guide(sheet.flat, sheet.pattern, spacing_mm=spacing, ahead=sheet.tank.front)
    pages = pages_of("form", name, show)
    drawing = drawn_on(pages[0])[0]
    numbers = {
        int(text.text.split(" ")[0]): text for text in drawing.texts if text.text[0].isdigit()
    }
    assert len(numbers) >= 0.9 * len(guide.ticks)
    listed = {text.text.strip() for page in pages for text in texts(page)}
    assert {str(tick.number) for tick in guide.ticks} <= listed
    ticks = [line for line in drawing.lines if line.meaning is Meaning.FORM_TICK]
    assert len(ticks) == len(guide.ticks)
    for number, text in numbers.items():
        assert near(text, ticks[number - 1].points.mean(axis=0)) < 9.0


def test_the_deepest_place_of_a_dome_is_told_with_its_depth() -> None:
    """160 (1 - cos 0.7) = 37.6 mm."""
    told = words(form_pages(lone_sheet("dome"))[0])
    assert "deepest: 38 mm (1 1/2 in)" in told


def one_line(page: Page) -> str:
    return " ".join(words(page).split())


def test_the_picture_of_the_form_says_from_where_it_is_seen() -> None:
    """Corners run round the blank seen from inside against the way they run in the picture."""
    sheet = sheet_of()
    inside = pages_of("form")[0]
    assert "seen from OUTSIDE. Looking into the form, the numbers run the other way" in one_line(
        inside
    )
    outside = form_pages(replace(sheet, job=replace(sheet.job, marked_face="outside")))[0]
    assert "seen from OUTSIDE. The numbers run as on the blank." in one_line(outside)
    for page, same in ((inside, False), (outside, True)):
        ways = [winding(drawing) for drawing in drawn_on(page)]
        assert (ways[0] * ways[1] > 0.0) is same


def winding(drawing: Drawing) -> float:
    """Return twice the area round which the numbers run, + to the left."""
    found = [text for text in drawing.texts if text.text[0].isdigit()]
    order = sorted(found, key=lambda text: int(text.text.split(" ")[0]))
    x, y = np.array([text.place for text in order]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def test_ticks_that_the_picture_hides_are_told() -> None:
    """Of a deep dome seen from the side the far part of the rim is behind the metal."""
    sheet = lone_sheet("deep")
    page = form_pages(sheet)[0]
    guide = form_guide(sheet.flat, sheet.pattern, spacing_mm=50.0, ahead=sheet.tank.front)
    seen = sight_of_panel(sheet.tank, "top").in_sight(np.stack([t.formed for t in guide.ticks]))
    hidden = [tick.number for tick, is_seen in zip(guide.ticks, seen, strict=True) if not is_seen]
    assert hidden
    found = re.search(r"Out of sight here: ([\d, to]+)\.", one_line(page))
    assert found is not None
    told: list[int] = []
    for run in found[1].split(", "):
        first, _, last = run.partition(" to ")
        told += range(int(first), int(last or first) + 1)
    assert told == hidden
    shown = [text for text in drawn_on(page)[1].texts if text.text.isdigit()]
    assert len(shown) == len(guide.ticks) - len(hidden)
    assert {text.angle_deg for text in shown} == {0.0}
    assert "Out of sight" not in one_line(pages_of("form")[0])


# The grid.


@pytest.mark.parametrize(("name", "show"), [("left side", "mm"), ("top strip", "in")])
def test_names_round_the_formed_grid_are_rows_on_one_side_and_columns_on_another(
    name: str, show: str
) -> None:
    drawing = drawn_on(pages_of("grid", name, show)[0])[1]
    named = [text for text in drawing.texts if text.text.isdigit() or text.text.isalpha()]
    rows = [text for text in named if text.text.isdigit()]
    columns = [text for text in named if text.text.isalpha() and len(text.text) == 1]
    assert len(rows) >= 2
    assert len(columns) >= 10
    assert {text.angle_deg for text in named} == {0.0}
    around = [shapely.MultiPoint([t.place for t in part]).envelope for part in (rows, columns)]
    assert not shapely.intersects(*around)
    numbers = [int(text.text) for text in sorted(rows, key=lambda text: text.place[1])]
    assert np.abs(np.diff(numbers)).tolist() == [1] * (len(rows) - 1)


def test_a_table_in_inches_reads_to_a_thousandth() -> None:
    found = [t.text for t in texts(pages_of("grid", "top strip", "in")[0])]
    pairs = [text for text in found if re.fullmatch(r"\d\.\d+, \d\.\d+", text)]
    assert len(pairs) >= 10
    assert all(re.fullmatch(r"\d\.\d{3}, \d\.\d{3}", text) for text in pairs)


def test_a_squares_name_stands_in_its_square_on_the_page() -> None:
    sheet = sheet_of()
    page = pages_of("grid")[0]
    drawing = drawn_on(page)[0]
    squares = named_grid(sheet.pattern.net, sheet.pattern.centre, sheet.pattern.grid_mm)
    lines = [line.points for line in drawing.lines if line.meaning is Meaning.SCRIBE]
    named = [text for text in drawing.texts if len(text.text) > 1 and text.text[0].isalpha()]
    named = [text for text in named if text.text[-1].isdigit()]
    assert len(named) > 20
    columns = sorted({text.text[0] for text in named})
    at = {letter: [t.place[0] for t in named if t.text[0] == letter] for letter in columns}
    means = [np.mean(at[letter]) for letter in columns]
    assert all(b > a for a, b in itertools.pairwise(means))  # seen from inside
    for text in named:
        squares.middle(text.text)  # every name is a square
    assert lines


def test_without_stretch_known_the_grid_still_stands_and_nothing_is_listed() -> None:
    sheet = sheet_of()
    bare = replace(sheet, pattern=replace(sheet.pattern, squares=None))
    page = grid_pages(bare)[0]
    assert not [text for text in texts(page) if "______" in text.text]


def test_a_turned_blank_lies_level_on_its_bench_pages() -> None:
    sheet = lone_sheet("dome")
    turned = bench_pages(replace(sheet, turn_rad=0.6))
    level = bench_pages(sheet)
    assert [words(page) for page in turned] == [words(page) for page in level]


# What may not be left out.


@pytest.mark.parametrize("kind", KINDS)
def test_what_nobody_scanned_is_hatched_on_the_blank_and_told(kind: str) -> None:
    assert sheet_of().pattern.no_data
    page = pages_of(kind)[0]
    drawn = drawn_on(page)[0]
    assert any(line.meaning is Meaning.NO_DATA for line in drawn.lines)
    assert "Crossed hatch: NOT SCANNED - FILLED BY GUESS" in " ".join(words(page).split())


@pytest.mark.parametrize("kind", KINDS)
def test_a_blank_that_may_not_be_cut_says_so_and_shows_no_cut_line(kind: str) -> None:
    unproved = panel_sheet("left side", size_proved=False, tapes=())
    page = KINDS[kind](unproved)[0]
    assert "NO CUT LINE: SIZE NOT TAPED" in words(page)
    assert not [line for line in drawn_on(page)[0].lines if line.meaning is Meaning.CUT]


def test_what_is_not_settled_is_told_on_every_bench_page() -> None:
    sheet = sheet_of()
    unsettled = replace(sheet, flat=replace(sheet.flat, converged=False))  # type: ignore[type-var]
    pages = bench_pages(told_of(unsettled))
    assert len(pages) >= 3
    for page in pages:
        assert "NO CUT LINE: " in words(page)
        assert "______" not in words(page)


def test_every_sheet_is_numbered() -> None:
    pages = bench_pages(sheet_of())
    for number, page in enumerate(pages, start=1):
        assert f"sheet {number} of {len(pages)}" in words(page)


# A list that finds no room.


def many_ticks(count: int) -> list[tuple[str, str, str]]:
    return [(str(number), f"{50 * number}", f"{51.5 * number:.1f}") for number in range(count)]


def test_a_list_stands_whole_on_one_sheet_or_on_sheets_of_its_own() -> None:
    sheet, box = sheet_of(), (167.0, 65.0, 289.0, 115.0)
    head = ("tick", "form", "blank")
    for count in (5, 30, 33, 60, 150, 400):
        rows = many_ticks(count)
        placed, pages = whole_list(sheet, "LIST", head, rows, box)
        here = [text.text for part in placed for text in part.drawing.texts]
        beyond = [text.text for page in pages for text in texts(page)]
        last = rows[-1][2]
        assert (last in here) != (last in beyond)
        assert (rows[1][2] in here) == (last in here)
        if pages:
            assert "The list stands on the next sheet." in here


def test_columns_are_as_wide_as_their_words_and_no_word_is_cut_short() -> None:
    sheet, box = sheet_of(), (167.0, 65.0, 289.0, 115.0)
    rows = [("1", "left rail from F1/A", ""), ("2", "16 31/32", "17 1/32"), ("end", "0", "0")]
    placed, _ = whole_list(sheet, "LIST", ("tick", "form", "blank"), rows, box)
    told = {text.text for part in placed for text in part.drawing.texts}
    assert {words for row in rows for words in row if words} <= told
    drawn = [text.outline for part in placed for text in part.drawing.texts]
    for one, other in itertools.combinations([shapely.Polygon(each) for each in drawn], 2):
        assert not one.intersects(other)


@pytest.mark.parametrize("name", ["left side", "top strip", "right side"])
def test_every_edge_is_named_once_on_the_form_page(name: str) -> None:
    """At least 3 mm tall, level or turned by a quarter, beside its edge or led to it."""
    sheet = panel_sheet(name)
    drawing = drawn_on(form_pages(sheet)[0])[0]
    for edge in sheet.pattern.edges:
        (text,) = [each for each in drawing.texts if each.text == f"edge {edge.letter}"]
        assert text.height_mm >= 3.0
        assert text.angle_deg in (0.0, 90.0)

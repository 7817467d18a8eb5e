"""Gauges on paper and in cutting files: curves read back, marks, words, hands, nothing unproved."""

import io
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import ezdxf.filemanagement
import numpy as np
import pytest
import shapely
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import GaugeSheet, JobFacts, Plate, gauge_plates, plate_files, sheaf_of_gauges
from app.exports.drawing import Meaning
from app.job import FrameChoice, GaugeChoice, Gauges
from app.units import length_text, mm_text
from geometry.arrays import BoolArray
from geometry.gauges import FrameSizes, GaugeWishes, gauge_set, tank_axes
from geometry.mesh import TriMesh, rims
from tests.app.exports.sample_sheets import panel_sheet
from tests.geometry.gauges.gauged_bodies import barrel, round_skin

FACTS = panel_sheet("left side").job


@cache
def skin(right: float = 1.0) -> TriMesh:
    return round_skin(barrel, right=right, cells=(60, 90))


def gauges(
    choice: GaugeChoice | None = None,
    mesh: TriMesh | None = None,
    filled: BoolArray | None = None,
    *,
    has_plane: bool = True,
) -> Gauges:
    choice = choice or GaugeChoice(spacing_mm=150.0)
    mesh = mesh or skin()
    nowhere = np.zeros(len(mesh.faces), bool)
    frame = choice.frame
    wishes = GaugeWishes(
        spacing_mm=choice.spacing_mm,
        asked_mm=choice.stations_mm,
        kind=choice.kind,
        in_halves=choice.in_halves,
        limit_mm=choice.turn_over_mm,
        profile=choice.profile,
        bottom_from=choice.bottom_from,
        side_line=choice.side_line,
        frame=None if frame is None else FrameSizes(frame.sheet_mm, frame.play_mm),
    )
    cut = gauge_set(mesh, nowhere if filled is None else filled, nowhere, wishes)
    axes = tank_axes(mesh, np.eye(3)[0], np.eye(3)[2])
    return Gauges(cut, choice, choice.kind == "male", 0.0, 1.6, axes, has_plane)


def facts(**changed: Any) -> JobFacts:
    return replace(FACTS, **{"size_proved": True, **changed})


def torn_skin() -> TriMesh:
    """Return the skin with a point of its left bottom edge thrown out by 3 mm."""
    mesh = skin()
    vertices = mesh.vertices.copy()
    rim = max(rims(mesh), key=len)
    left = rim[vertices[rim, 1] > 0.0]
    thrown = left[np.abs(vertices[left, 0] - 150.0).argmin()]
    vertices[thrown, 1] += 3.0
    return TriMesh(vertices, mesh.faces)


def stations(plates: tuple[Plate, ...]) -> list[Plate]:
    return [plate for plate in plates if plate.name.startswith("station")]


def _flat(piece: Any) -> Any:
    """Return a straight piece's ends, or an arc's points, its chords within 0.0005 mm."""
    if piece.dxftype() == "ARC":
        return [(place.x, place.y) for place in piece.flattening(0.0005)]
    return [(piece.dxf.start.x, piece.dxf.start.y), (piece.dxf.end.x, piece.dxf.end.y)]


@pytest.mark.parametrize("kind", ["female", "male"])
def test_the_curve_read_back_from_the_dxf_is_within_0_02_mm_of_the_section(kind: Any) -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, kind=kind))
    for plate, gauge in zip(stations(gauge_plates(made, facts())), made.cut.stations, strict=True):
        text = plate_files(plate)[f"{plate.name}.dxf"].decode()
        drawing = ezdxf.filemanagement.read(io.StringIO(text))
        (edge,) = (each for each in drawing.modelspace() if each.dxf.layer == "CUT")
        assert isinstance(edge, LWPolyline)
        drawn = shapely.MultiLineString([_flat(piece) for piece in edge.virtual_entities()])
        half = gauge.section.half("left")
        assert half is not None
        touched = [
            place
            for run in gauge.boards[0][1].edges
            for place in run
            if shapely.distance(shapely.Point(place), shapely.LineString(half)) < 1e-9
        ]
        assert len(touched) > 30
        corner = np.array([(x, y) for x, y, *_ in edge.get_points()]).min(axis=0)
        shift = corner - plate.outline.min(axis=0)
        off = shapely.distance(shapely.points(np.array(touched) + shift), drawn)
        assert off.max() <= 0.02


def test_without_proof_of_size_nothing_is_to_be_cut() -> None:
    for plate in gauge_plates(gauges(), facts(size_proved=False)):
        assert plate.no_cut == "SIZE NOT TAPED"
        assert all(line.meaning is not Meaning.CUT for line in plate.lines)
    assert ".dxf" not in " ".join(plate_files(plate))


def test_every_station_tells_number_place_hand_face_level_and_centre() -> None:
    for number, plate in enumerate(stations(gauge_plates(gauges(), facts())), start=1):
        assert plate.name == f"station {number:02d}"
        assert "LEFT HAND, TURNED OVER RIGHT" in plate.makes
        assert "BACK FROM THE FRONT END" in plate.where
        assert plate.face == "MARKED FACE LOOKS BACK"
        words = [note.words for note in plate.notes]
        assert "CENTRE LINE: this edge" in words
        assert any(said.startswith("level ") for said in words)
        assert any(line.meaning is Meaning.STATION for line in plate.lines)
        assert any("thickness" in said for said in plate.facts)


def thickness_told(plate: Plate) -> list[tuple[str, str]]:
    """Return which face stands on the station and where the thickness lies, hand by hand."""
    (told,) = (said for said in plate.facts if "thickness" in said)
    return re.findall(r"(marked|other) face stands on the station: .*?lies (ahead|behind)", told)


@pytest.mark.parametrize("kind", ["female", "male"])
def test_a_boards_thickness_lies_where_there_is_room_also_turned_over(kind: Any) -> None:
    """A board over the skin lies to the smaller side of its station, one within to the larger.

    Whoever looks at the marked face looks ahead while it looks back: the metal is then ahead of
    that face, and of the station only if that face stands on it. Turned over it is the other way.
    """
    made = gauges(GaugeChoice(spacing_mm=75.0, kind=kind))
    sides = set()
    for plate, each in zip(stations(gauge_plates(made, facts())), made.cut.stations, strict=True):
        assert plate.makes.endswith("TURNED OVER RIGHT, MARKS AHEAD")
        in_front = each.station.at_mm >= made.cut.girth.widest_mm
        room = "ahead" if in_front == (kind == "female") else "behind"
        for way, (face, lies) in zip(("back", "ahead"), thickness_told(plate), strict=True):
            from_marked = "ahead" if way == "back" else "behind"
            from_other = "behind" if way == "back" else "ahead"
            assert lies == (from_marked if face == "marked" else from_other) == room
        sides.add(room)
    assert sides == {"ahead", "behind"}


def test_whole_boards_carry_the_centre_line_and_say_what_is_cleared() -> None:
    made = gauges(
        GaugeChoice(spacing_mm=150.0, in_halves=False),
        round_skin(barrel, under=2.0, cells=(60, 90)),
    )
    for plate in stations(gauge_plates(made, facts())):
        assert any(line.meaning is Meaning.TANK_CENTRE for line in plate.lines)
        assert any("does not touch there" in said for said in plate.facts)


def test_hands_too_far_apart_have_a_board_each_and_say_so() -> None:
    plates = stations(gauge_plates(gauges(mesh=skin(1.05)), facts()))
    assert {plate.name.split()[-1] for plate in plates} == {"left", "right"}
    assert all(any("does NOT fit" in said for said in plate.facts) for plate in plates)
    alike = stations(gauge_plates(gauges(has_plane=False), facts()))
    assert all(any("stands for the centre plane" in s for s in plate.facts) for plate in alike)


def test_what_nobody_scanned_is_drawn_and_told() -> None:
    mesh = skin()
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    filled = (middles[:, 1] > 30.0) & (middles[:, 1] < 50.0)
    made = gauges(GaugeChoice(spacing_mm=150.0, frame=FrameChoice()), filled=filled)
    plates = gauge_plates(made, facts())
    across = [p for p in plates if p.name.startswith("station") or "CHECKING" in p.makes]
    for plate in across:
        if "ALONG" in plate.where:
            continue
        runs = [line for line in plate.lines if line.meaning is Meaning.NO_DATA]
        assert runs
        assert any("NOT SCANNED" in said for said in plate.remarks)
        assert any("NOT SCANNED" in note.words for note in plate.notes)
        board = shapely.Polygon(plate.outline).buffer(0.01)
        assert all(board.covers(shapely.LineString(line.points)) for line in runs)


def test_long_boards_have_a_tick_for_every_station_they_pass() -> None:
    made = gauges()
    longs = [p for p in gauge_plates(made, facts()) if p.name.startswith(("bottom s", "side"))]
    assert len(longs) == 3
    for plate in longs:
        ticks = [line for line in plate.lines if line.meaning is Meaning.TICK]
        assert len(ticks) == len(made.cut.stations)
        at = sorted(each.station.at_mm for each in made.cut.stations)
        assert np.allclose(sorted(line.points[0, 0] for line in ticks), at)
        board = shapely.Polygon(plate.outline).buffer(0.05)
        assert all(board.covers(shapely.LineString(line.points)) for line in ticks)


def test_a_station_beyond_a_lines_end_has_no_tick_on_its_board() -> None:
    x = np.linspace(120.0, 310.0, 60)
    lines = tuple(np.column_stack([x, s * 0.8 * barrel(x), 150.0 + 0.0 * x]) for s in (1.0, -1.0))
    mesh = skin()
    nowhere = np.zeros(len(mesh.faces), bool)
    wishes = GaugeWishes(spacing_mm=50.0, profile=False, side_line="crisp")
    cut = gauge_set(mesh, nowhere, nowhere, wishes, crisp=lines)
    within = [g.station.at_mm for g in cut.stations if 120.0 < g.station.at_mm < 310.0]
    assert len(within) < len(cut.stations)
    for plate in gauge_plates(replace(gauges(), cut=cut), facts()):
        if plate.name.startswith("side"):
            ticks = [line for line in plate.lines if line.meaning is Meaning.TICK]
            assert np.allclose(sorted(t.points[0, 0] for t in ticks), sorted(within))


def test_a_torn_edge_is_told_on_its_board_and_in_the_list_with_the_better_hand() -> None:
    made = gauges(mesh=torn_skin())
    (place,) = made.cut.torn
    assert place.hand == "left"
    back = made.cut.front_mm - place.at[0]
    (bridged,) = {g.but_torn_mm for g in made.cut.longs if (g.of, g.view) == ("bottom", "plan")}
    assert bridged is not None
    assert bridged < 0.2  # what a chord of 13 mm is off the barrel's round
    plates = {p.name: p for p in gauge_plates(made, facts())}
    left, right = plates["bottom plan left"], plates["bottom plan right"]
    assert "EDGE TORN" in [note.words for note in left.notes]
    (said,) = left.remarks
    assert said.startswith(f"EDGE TORN {length_text(back, 'mm')} back, off by ")
    assert f"left hand, {length_text(back, 'mm')} back: torn in the scan" in " ".join(left.facts)
    (leader,) = (line for line in left.lines if line.meaning is Meaning.LEADER)
    assert leader.points[0, 0] == pytest.approx(place.at[0])
    assert "EDGE TORN" not in [note.words for note in right.notes]
    assert right.remarks == ()
    for plate in (left, right):
        told = " ".join(plate.facts)
        assert "does NOT fit the other hand" in told
        assert f"With torn places bridged they differ by up to {mm_text(bridged, 1)}" in told
        assert "have both boards made of the right edge" in told
    assert "EDGE TORN, left hand" in _list_words(made)


def test_both_boards_of_the_bottom_edge_can_be_made_of_the_better_hand() -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, bottom_from="right"), torn_skin())
    plates = {p.name: p for p in gauge_plates(made, facts())}
    (name,) = (name for name in plates if name.startswith("bottom plan"))
    assert name == "bottom plan"
    assert plates[name].makes.endswith("LEFT HAND, TURNED OVER RIGHT")
    assert "EDGE TORN" not in [note.words for note in plates[name].notes]
    told = " ".join(plates[name].facts)
    assert "Made from the right edge for both hands, as asked: left and right differ" in told
    whole = {p.name: p for p in gauge_plates(gauges(), facts())}[name]
    apart = shapely.Polygon(plates[name].outline).symmetric_difference(
        shapely.Polygon(whole.outline)
    )
    assert apart.area < 1e-6
    assert "EDGE TORN, left hand" in _list_words(made)  # the tank's own edge is still told


def test_the_list_says_what_levels_and_stations_hang_on() -> None:
    level = "Level is that of the flat bottom edge."
    made = gauges(GaugeChoice(spacing_mm=150.0))
    assert level not in _list_words(made)
    assert level in _list_words(made, level=level)


def _list_words(made: Gauges, **changed: Any) -> str:
    pages = sheaf_of_gauges(GaugeSheet(facts(**changed), made)).pages
    return " ".join(t.text for page in pages for p in page.contents for t in p.drawing.texts)


def test_a_frames_boards_say_which_face_stands_on_the_station() -> None:
    made = gauges(GaugeChoice(spacing_mm=100.0, frame=FrameChoice(6.0)))
    plates = [each for each in gauge_plates(made, facts()) if each.name.startswith("frame")]
    across = [
        (plate, board)
        for plate, board in zip(plates, made.cut.frame, strict=True)
        if board.axis == 0
    ]
    told = set()
    for plate, board in across:
        assert plate.face == "MARKED FACE LOOKS BACK"
        ((face, lies),) = thickness_told(plate)
        assert (face == "marked") == (board.band[0] == board.at_mm) == (lies == "ahead")
        told.add(face)
    assert told == {"marked", "other"}


def test_slots_name_the_board_that_goes_in() -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, frame=FrameChoice()))
    frame = [p for p in gauge_plates(made, facts()) if p.name.startswith("frame")]
    along = len(frame)
    assert any(note.words == f"board {along}" for note in frame[0].notes)
    assert {f"board {k}" for k in range(1, along)} <= {note.words for note in frame[-1].notes}


def test_the_list_names_every_station_and_what_to_look_at() -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, frame=FrameChoice()))
    sheaf = sheaf_of_gauges(GaugeSheet(facts(), made))
    assert sheaf.name == "gauges.pdf"
    told = " ".join(t.text for page in sheaf.pages for p in page.contents for t in p.drawing.texts)
    for each in made.cut.stations:
        assert f"{each.station.back_mm:.0f} mm" in told or f"{each.station.back_mm:.1f} mm" in told
    assert "none run into each other" in told
    head = replace(made, cut=replace(made.cut, top_open=True))
    told = " ".join(
        text.text
        for page in sheaf_of_gauges(GaugeSheet(facts(), head)).pages
        for part in page.contents
        for text in part.drawing.texts
    )
    assert "wrong way round" in told


def test_numbers_of_stations_close_together_stand_apart_each_led_to_its_line() -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, stations_mm=(12.0, 14.0, 80.0, 148.0, 152.0)))
    (page, *_) = sheaf_of_gauges(GaugeSheet(facts(), made)).pages
    drawn = [part.drawing for part in page.contents]
    numbers = [text for each in drawn for text in each.texts if text.anchor == "middle"]
    lines = [line for each in drawn for line in each.lines]
    tops = {line.points[1].tobytes() for line in lines if line.meaning is Meaning.STATION}
    led = [line.points for line in lines if line.meaning is Meaning.LEADER]
    count = len(made.cut.stations)
    assert [text.text for text in numbers] == 2 * [str(k) for k in range(1, count + 1)]
    assert len(led) == 2 * count
    for text, (top, end) in zip(numbers, led, strict=True):
        assert top.tobytes() in tops
        assert abs(end[0] - text.place[0]) < 1e-9
        assert 0.0 < text.place[1] - end[1] < 1.5
    for view in (numbers[:count], numbers[count:]):
        boxes = sorted(text.box for text in view)
        assert all(one[2] < other[0] for one, other in pairwise(boxes))
        far = [abs(top[0] - end[0]) for top, end in led]
        assert 0.5 < max(far) < 5.0
        alone = next(k for k, each in enumerate(made.cut.stations) if each.station.back_mm == 80.0)
        assert far[alone] == pytest.approx(0.0, abs=1e-9)


def test_a_frame_whose_boards_clash_is_not_to_be_cut() -> None:
    made = gauges(GaugeChoice(spacing_mm=150.0, frame=FrameChoice()))
    assert made.cut.check is not None
    worse = replace(made.cut, check=replace(made.cut.check, clash_mm=1.0))
    for plate in gauge_plates(replace(made, cut=worse), facts()):
        is_frame = plate.name.startswith("frame")
        assert (plate.no_cut is not None) == is_frame
        assert any(line.meaning is Meaning.CUT for line in plate.lines) != is_frame


def test_a_station_too_near_another_has_no_board_in_the_frame_and_that_is_told() -> None:
    choice = GaugeChoice(spacing_mm=150.0, frame=FrameChoice())
    wishes = GaugeWishes(spacing_mm=150.0, asked_mm=(150.0, 158.0), frame=FrameSizes())
    mesh = skin()
    nowhere = np.zeros(len(mesh.faces), bool)
    cut = gauge_set(mesh, nowhere, nowhere, wishes)
    made = replace(gauges(choice), cut=cut)
    near = next(g.station.number for g in cut.stations if abs(g.station.back_mm - 158.0) < 1e-6)
    told = " ".join(
        text.text
        for page in sheaf_of_gauges(GaugeSheet(facts(), made)).pages
        for part in page.contents
        for text in part.drawing.texts
    )
    assert f"No board for station {near}" in told

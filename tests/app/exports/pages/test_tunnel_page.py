"""The tunnel on paper and in cutting files: what is told, and that it is drawn as laid out."""

import io
from dataclasses import replace

import ezdxf.filemanagement
import numpy as np
import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.path import make_path
from shapely.geometry import LineString, Point

from app.exports import Plate, TunnelPageSheet, plate_files, sheaf_of_tunnel, tunnel_plates
from app.exports.drawing import Meaning
from app.job import (
    GUESSED_BOTTOM,
    MetalChoice,
    TunnelLaid,
    tunnel_alone,
    tunnel_told,
    tunnel_warnings,
)
from geometry.arrays import FloatArray
from geometry.gauges import tank_axes
from geometry.tank import (
    Room,
    RoundBody,
    TunnelEnd,
    TunnelGround,
    TunnelPlace,
    TunnelRoom,
    TunnelSheet,
    TunnelSpec,
    TunnelStep,
    lay_tunnel,
    tank_bottom,
    tunnel_mesh,
)
from tests.app.exports.sample_sheets import panel_sheet
from tests.geometry.tank.tunnel_tanks import ground

SHEET = TunnelSheet("3003-H14", 1.6, 0.0)
TUBE = RoundBody("frame tube", (-20.0, 0.0, 40.0), (450.0, 0.0, 55.0), 32.0)
ROUND = TunnelSpec(
    380.0,
    place=TunnelPlace(10.0),
    tube=TUBE,
    room=TunnelRoom(rubber_squash=Room(2.0, 0.0)),
    run_out_mm=20.0,
)
FOLDED = TunnelSpec(
    300.0,
    TunnelEnd(62.0, 56.0),
    TunnelEnd(60.0, 50.0),
    top="three sided",
    flare_rad=0.1,
    bend_radius_mm=3.0,
    place=TunnelPlace(40.0),
)


def laid(spec: TunnelSpec) -> TunnelLaid:
    known = ground()
    tunnel = lay_tunnel(spec, SHEET, known)
    return TunnelLaid(tunnel, tunnel_mesh(tunnel), tank_axes(known.skin, None, None))


def plates(spec: TunnelSpec, *, proved: bool = True) -> tuple[Plate, ...]:
    job = replace(panel_sheet("left side").job, size_proved=proved)
    return tunnel_plates(job, laid(spec))


def lines_of(plate: Plate, meaning: Meaning) -> list[FloatArray]:
    return [line.points for line in plate.lines if line.meaning is meaning]


def test_the_cut_off_band_is_scribed_and_never_cut() -> None:
    (net,) = plates(ROUND)
    assert len(lines_of(net, Meaning.CUT)) == 1
    band = [line for line in lines_of(net, Meaning.SCRIBE) if np.ptp(line[:, 1]) > 300.0]
    assert len(band) == 4
    outline = lines_of(net, Meaning.CUT)[0]
    assert all(np.abs(line[:, 0]).max() < np.abs(outline[:, 0]).max() - 19.0 for line in band)
    told = [note.words for note in net.notes]
    assert told.count("SCRIBE ON JOB - DO NOT CUT") == 2
    assert {"LEFT LEG", "RIGHT LEG", "CENTRE LINE"} <= set(told)
    left = next(note for note in net.notes if note.words == "LEFT LEG")
    assert left.place[0] > 0.0  # FRONT is up and it is seen from below: left lies on the right


def test_lines_to_bend_tell_angle_direction_and_inside_radius() -> None:
    (net,) = plates(FOLDED)
    assert len(lines_of(net, Meaning.BEND_UP)) == 2
    (words,) = {note.words for note in net.notes if "BEND UP" in note.words}
    assert "3 mm" in words
    assert "84." in words  # a flare of 5.7 degrees leaves 90 - 5.7, less a little for the taper
    assert "MARK THIS FACE: TUBE SIDE" in net.face


def test_without_proof_of_size_nothing_is_to_be_cut() -> None:
    (net,) = plates(FOLDED, proved=False)
    assert net.no_cut == "SIZE NOT TAPED"
    assert not lines_of(net, Meaning.CUT)
    assert not [name for name in plate_files(net) if name.endswith((".dxf", ".svg"))]


def _middle(points: FloatArray) -> FloatArray:
    return np.asarray(0.5 * (points.min(axis=0) + points.max(axis=0)))


def test_the_net_read_back_from_the_dxf_is_the_development() -> None:
    """Its cut line passes every place of the development's edge within 0.01 mm."""
    spec = replace(ROUND, tube=replace(TUBE, end_mm=(450.0, 0.0, 70.0)))
    made = laid(spec)
    (net,) = tunnel_plates(panel_sheet("left side").job, made)
    (content,) = (data for name, data in plate_files(net).items() if name.endswith(".dxf"))
    document = ezdxf.filemanagement.read(io.StringIO(content.decode()))
    (cut,) = (e for e in document.modelspace() if e.dxf.layer == "CUT")
    assert isinstance(cut, LWPolyline)
    drawn = np.array([(place.x, place.y) for place in make_path(cut).flattening(0.001)])
    piece = made.tunnel.pieces[0]
    line = LineString(drawn - _middle(drawn))
    for place in piece.outline - _middle(piece.outline):
        assert line.distance(Point(place)) < 0.01


def test_a_step_has_a_net_for_each_piece_and_a_plate() -> None:
    step = TunnelStep(120.0, TunnelEnd(60.0, 50.0), TunnelEnd(70.0, 62.0))
    end = TunnelEnd(60.0, 50.0)
    found = plates(replace(FOLDED, steps=(step,), rear=end, front=TunnelEnd(70.0, 62.0)))
    assert [plate.name for plate in found] == [
        "tunnel piece 1 net",
        "tunnel piece 2 net",
        "step plate 1",
    ]
    assert len(lines_of(found[2], Meaning.CUT)) == 1


def test_the_page_tells_the_sum_line_by_line_and_gaps_before_and_after() -> None:
    made, known = laid(ROUND), ground()
    job = replace(panel_sheet("left side").job, level="Level is as up was given.")
    sheaf = sheaf_of_tunnel(TunnelPageSheet(job, made, known.skin, known.guessed, known.guessed))
    told = " ".join(
        text.text for page in sheaf.pages for part in page.contents for text in part.drawing.texts
    )
    for words in ("rubber squash", "weld pull-in", "SUM", "13 mm", "12 mm", "laid out", "welded"):
        assert words in told
    for words in ("NOT FULL SIZE", "0.01743", "Slide the tunnel in", "local code", job.level):
        assert words in told
    assert sheaf.name == "tunnel.pdf"
    pictures = [p for page in sheaf.pages for part in page.contents for p in part.drawing.pictures]
    assert len(pictures) == 2


def test_words_go_on_a_second_numbered_sheet_only_where_lower_pictures_make_no_room() -> None:
    """A plain one with pictures at their whole height, a tight one at less, one in steps on two."""
    tight = replace(ROUND, front=TunnelEnd(90.0, 35.0), rear=TunnelEnd(58.0, 35.0))
    one, other = TunnelEnd(60.0, 50.0), TunnelEnd(70.0, 62.0)
    steps = (TunnelStep(100.0, one, other), TunnelStep(200.0, other, one))
    stepped = replace(FOLDED, front=one, rear=one, steps=steps, bend_radius_mm=1.0)
    job, known = replace(panel_sheet("left side").job, level="Level. " * 12), ground()
    sheaves = [
        sheaf_of_tunnel(TunnelPageSheet(job, laid(spec), known.skin, known.guessed, known.guessed))
        for spec in (ROUND, tight, stepped)
    ]
    assert [len(sheaf.pages) for sheaf in sheaves] == [1, 1, 2]
    tall = [
        max(p.height_mm for part in sheaf.pages[0].contents for p in part.drawing.pictures)
        for sheaf in sheaves
    ]
    assert 0.6 * tall[0] <= tall[1] < tall[0] == tall[2]
    for at, page in enumerate(sheaves[2].pages, start=1):
        (head, *_) = page.contents
        assert f"sheet {at} of 2" in [text.text for text in head.drawing.texts]


def test_what_to_look_at_is_told() -> None:
    tight = laid(replace(ROUND, front=TunnelEnd(90.0, 35.0), rear=TunnelEnd(58.0, 35.0)))
    words = " ".join(tunnel_warnings(tight))
    assert "commonly turned down" in words or "foul" in words
    short = laid(replace(ROUND, run_out_mm=0.0))
    assert "short of the skin" in " ".join(tunnel_warnings(short))
    assert any("Look" in line for line in tunnel_told(short, "in"))


def test_a_tunnel_laid_out_without_a_tank_has_its_page_too() -> None:
    alone = tunnel_alone(replace(FOLDED, top="flat"), MetalChoice())
    sheaf = sheaf_of_tunnel(TunnelPageSheet(panel_sheet("left side").job, alone))
    told = " ".join(t.text for p in sheaf.pages for c in p.contents for t in c.drawing.texts)
    assert "Laid out without a tank" in told


def test_where_the_band_runs_over_guessed_skin_it_is_hatched_and_said() -> None:
    skin = ground().skin
    middles = skin.vertices[skin.faces].mean(axis=1)
    guessed = (middles[:, 1] > 90.0) & (middles[:, 0] > 120.0) & (middles[:, 0] < 200.0)
    known = TunnelGround(skin, guessed, tank_bottom(skin, guessed))
    tunnel = lay_tunnel(FOLDED, SHEET, known)
    made = TunnelLaid(tunnel, tunnel_mesh(tunnel), tank_axes(skin, None, None))
    job = panel_sheet("left side").job
    (net,) = tunnel_plates(job, made)
    hatched = np.concatenate(lines_of(net, Meaning.NO_DATA))
    assert hatched[:, 1].min() == pytest.approx(120.0 - 40.0 - 5.0, abs=10.0)
    assert hatched[:, 1].max() == pytest.approx(200.0 - 40.0 + 5.0, abs=10.0)
    assert [note.words for note in net.notes].count(GUESSED_BOTTOM) == 2
    assert (Meaning.NO_DATA, GUESSED_BOTTOM.lower()) in net.legend
    (words,) = {words for words in net.remarks if "left and right leg" in words}
    assert words.startswith(GUESSED_BOTTOM)
    told = [
        text.text
        for page in sheaf_of_tunnel(TunnelPageSheet(job, made, skin, guessed, guessed)).pages
        for part in page.contents
        for text in part.drawing.texts
    ]
    assert any("Zigzag" in words for words in told)
    (clear,) = plates(FOLDED)
    assert not lines_of(clear, Meaning.NO_DATA)

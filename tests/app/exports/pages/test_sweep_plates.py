"""Sweeps on paper and in cutting files: arcs read back, both edges named, the list of places."""

import io
from functools import cache

import ezdxf.filemanagement
import numpy as np
import pytest
from ezdxf.entities.arc import Arc
from ezdxf.entities.lwpolyline import LWPolyline

from app.exports import GaugeSheet, Plate, gauge_plates, plate_files, sheaf_of_gauges
from app.exports.drawing import Meaning
from app.job import GaugeChoice, Gauges, SweepChoice, gap_words, use_words
from app.units import inch_text, mm_text
from geometry.gauges import (
    GaugedSkin,
    GaugeWishes,
    SweepSet,
    SweepWishes,
    gauge_set,
    sweep_set,
    tank_axes,
)
from geometry.gauges.sweep_board import WIDE_MM
from tests.app.exports.pages.test_gauge_plates import facts
from tests.geometry.gauges.gauged_bodies import barrel, round_skin


@cache
def gauges(radii: tuple[float, ...] = ()) -> Gauges:
    mesh = round_skin(barrel, cells=(60, 160))
    nowhere = np.zeros(len(mesh.faces), bool)
    wishes = GaugeWishes(spacing_mm=150.0, profile=False, side_line="none")
    cut = gauge_set(mesh, nowhere, nowhere, wishes)
    other = GaugedSkin(mesh, 1.6, nowhere, nowhere)
    sweeps = sweep_set(cut.stations, other, SweepWishes(radii_mm=radii))
    axes = tank_axes(mesh, np.eye(3)[0], np.eye(3)[2])
    choice = GaugeChoice(spacing_mm=150.0, sweeps=SweepChoice(radii_mm=radii))
    return Gauges(cut, choice, False, 0.0, 1.6, axes, True, sweeps)


def found() -> SweepSet:
    sweeps = gauges().sweeps
    assert sweeps is not None
    assert sweeps.boards
    return sweeps


def list_words(made: Gauges) -> str:
    pages = sheaf_of_gauges(GaugeSheet(facts(), made)).pages
    return " ".join(t.text for page in pages for p in page.contents for t in p.drawing.texts)


def sweep_plates(made: Gauges, *, size_proved: bool = True) -> list[Plate]:
    plates = gauge_plates(made, facts(size_proved=size_proved))
    return [plate for plate in plates if plate.name.startswith("sweep")]


@pytest.mark.parametrize("radii", [(), (30.0, 50.0, 152.4, 900.0)])
def test_both_edges_read_back_from_the_dxf_are_within_0_02_mm_of_their_circle(
    radii: tuple[float, ...],
) -> None:
    made = gauges(radii)
    assert made.sweeps is not None
    plates = sweep_plates(made)
    assert len(plates) == len(made.sweeps.boards) >= 1
    for plate, board in zip(plates, made.sweeps.boards, strict=True):
        text = plate_files(plate)[f"{plate.name}.dxf"].decode()
        drawing = ezdxf.filemanagement.read(io.StringIO(text))
        (edge,) = (each for each in drawing.modelspace() if each.dxf.layer == "CUT")
        assert isinstance(edge, LWPolyline)
        arcs = [each for each in edge.virtual_entities() if isinstance(each, Arc)]
        assert len(arcs) == 2
        heights = []
        for arc in arcs:
            points = np.array([(place.x, place.y) for place in arc.flattening(0.0005)])
            middle, top = points[:, 0].mean(), points[:, 1].max()
            centre = (points[[0, -1], 0].mean(), top - board.radius_mm)
            away = np.hypot(*(points - centre).T)
            assert np.abs(away - board.radius_mm).max() <= 0.02
            assert np.ptp(points[:, 0]) == pytest.approx(board.chord_mm, abs=1e-6)
            assert middle == pytest.approx(centre[0], abs=0.5)
            heights.append(top)
        assert np.ptp(heights) == pytest.approx(WIDE_MM, abs=1e-6)


def test_each_names_its_edges_its_number_and_its_radius_both_ways() -> None:
    for plate, board in zip(sweep_plates(gauges()), found().boards, strict=True):
        up = {note.words: note.place[1] for note in plate.notes}
        assert up["HOLLOW"] < up[f"R {mm_text(board.radius_mm)}"] < up["CROWNED"]
        assert {f"SWEEP {board.number}", f"R {inch_text(board.radius_mm)}"} <= set(up)
        ticks = [line.points for line in plate.lines if line.meaning is Meaning.TICK]
        assert sorted(tick[0].tolist() for tick in ticks) == [
            [0.0, pytest.approx(board.rise_mm, abs=0.002)],
            [0.0, pytest.approx(board.rise_mm + WIDE_MM, abs=0.002)],
        ]
        assert any("For the outside" in words for words in plate.facts)


def test_without_proof_of_size_no_sweep_is_cut() -> None:
    for plate in sweep_plates(gauges(), size_proved=False):
        assert plate.no_cut == "SIZE NOT TAPED"
        assert all(line.meaning is not Meaning.CUT for line in plate.lines)
        assert not any(name.endswith(".dxf") for name in plate_files(plate))


def test_the_list_tells_every_board_and_which_serves_at_every_place() -> None:
    said = list_words(gauges())
    sweeps = found()
    assert said.count("sweep ") >= len([use for use in sweeps.uses if use.board is not None])
    assert f"no more than {gap_words(0.25)}" in " ".join(said.split())
    for use in sweeps.uses:
        assert gap_words(use.gap_mm) in said
        assert "OVER YOUR GAP" not in use_words(sweeps, use)


def test_where_no_typed_radius_is_near_that_is_told() -> None:
    made = gauges((30.0, 50.0, 152.4, 900.0))
    assert made.sweeps is not None
    over = [use for use in made.sweeps.uses if use.gap_mm > 0.25]
    assert over
    assert all("OVER YOUR GAP" in use_words(made.sweeps, use) for use in over)
    said = list_words(made)
    assert "OVER" in said


def test_without_sweeps_the_list_says_nothing_of_them() -> None:
    one = gauges()
    none = Gauges(one.cut, one.choice, False, 0.0, 1.6, one.axes, True)
    assert "SWEEPS" not in list_words(none)
    assert sweep_plates(none) == []

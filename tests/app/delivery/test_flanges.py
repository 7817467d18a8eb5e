"""Flanges as they leave: run sheets that say each station, tallies true to size, numbers."""

import io
import json
from dataclasses import replace
from datetime import date
from functools import cache

import ezdxf.filemanagement
import numpy as np
import pypdfium2
import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from app.delivery import (
    FLANGES_JSON,
    NotReadyError,
    RestJob,
    files_of_step,
    flanges_told,
    job_facts,
    kinds_made,
    rest_job,
    rest_json,
    rest_sheaves,
)
from app.exports import FlangeSheet, flange_plates
from app.exports.drawing import Meaning, Page
from app.exports.pages import flange_pages
from app.job import (
    FlangeChoice,
    Flanges,
    FlangesChoice,
    JobState,
    carried_through,
    flange_bends,
    made,
    with_metal,
    with_rest,
)
from app.units import plain_number
from geometry.metal import METALS
from tests.app.job.small_tank import carried

DAY = date(2026, 3, 2)
PITCH_MM = 25.0


@cache
def state() -> JobState:
    runs = (
        FlangeChoice(width_mm=8.0, to="outside", pitch_mm=PITCH_MM),
        FlangeChoice("left rail", width_mm=6.0, pitch_mm=PITCH_MM),
    )
    return carried_through(with_rest(carried(), flanges=FlangesChoice(runs)), "Flanges")


def flanges() -> Flanges:
    found: Flanges = made(state(), "Flanges")
    return found


@cache
def files() -> dict[str, bytes]:
    return files_of_step(state(), "Flanges", FLANGES_JSON, dated=DAY)


def words_of(page: Page) -> list[str]:
    return [text.text for part in page.contents for text in part.drawing.texts]


def pages(show: str = "mm", **changed: object) -> list[Page]:
    facts = job_facts(state(), made(state(), "Size"), dated=DAY, show=show)  # type: ignore[arg-type]
    found = replace(flanges(), **changed)  # type: ignore[arg-type]
    return flange_pages(FlangeSheet(facts, found, METALS["3003-H14"]))


def test_each_flange_has_a_sheet_with_every_station() -> None:
    found = [words_of(page) for page in pages()]
    for number, run in enumerate(flanges().made, start=1):
        own = [w for w in found if any(said.startswith(f"FLANGE {number},") for said in w)]
        words = [said for page in own for said in page]
        assert own
        for station in run.run.stations:
            assert words.count(str(station.number)) >= 2  # in a view and in the table
    for at, page in enumerate(found, start=1):
        assert f"sheet {at} of {len(found)}" in page


def test_a_station_says_turn_radius_change_both_ways_lip_and_metal() -> None:
    """As the run has it: the change per 100 and in inches per foot, the radius in mm and inches."""
    station = flanges().made[0].run.stations[1]
    change = 100.0 * (station.stretch - 1.0)
    words = words_of(pages()[0])
    foot = f"{0.12 * change:.2f}".removeprefix("0")
    assert f"+{plain_number(change)} / +{foot}" in words
    assert f"{station.lip_thickness * 1.6:.2f}" in words
    assert "90\u00b0" in words
    assert "anneal first" in words
    radius = f"{station.radius_mm:.0f} ({station.radius_mm / 25.4:.1f})"
    assert any(said.startswith(radius) for said in words)
    turned = words_of(pages("in")[0])
    assert any(said.startswith(f"{station.radius_mm / 25.4:.1f} (") for said in turned)


def test_where_a_line_bends_both_ways_both_radii_are_told() -> None:
    first = flanges().made[0]
    bent = replace(first.run.stations[1], bend_in_skin=-1.0 / 44.0, bend_in_lip=1.0 / 49.0)
    run = replace(first.run, stations=(first.run.stations[0], bent, *first.run.stations[2:]))
    (page, *_) = pages(made=(replace(first, run=run),))
    assert "skin 44 round, lip 49 hollow" in words_of(page)
    assert flange_bends(replace(bent, bend_in_skin=0.0)) == ""
    told = " ".join(words_of(page))
    assert "(1 - w / lip - (w - h) / skin) / (1 - h / skin)" in told
    station = flanges_told(state())["runs"][0]["stations"][1]
    real = first.run.stations[1]
    for name, bend in (("skin", real.bend_in_skin), ("lip", real.bend_in_lip)):
        said = station[f"radius_in_{name}"]
        assert said is None or said == pytest.approx(1.0 / bend, rel=1e-3)


def test_places_nobody_scanned_are_marked() -> None:
    first = flanges().made[0]
    marked = replace(first, guessed=(True, *first.guessed[1:]))
    words = words_of(pages(made=(marked,))[0])
    assert "0?" in words
    assert "NOT SCANNED" in " ".join(words)


def test_a_long_run_goes_on_over_pages() -> None:
    first = flanges().made[0]
    many = tuple(replace(first.run.stations[0], number=number) for number in range(90))
    long = replace(first, run=replace(first.run, stations=many), guessed=(False,) * 90)
    found = pages(made=(long,))
    assert len(found) >= 2
    rows = [said for page in found for said in words_of(page) if said.isdigit()]
    assert {str(number) for number in range(90)} <= set(rows)
    for page in found:
        assert "no." in words_of(page)


def test_the_tally_is_as_long_as_the_root_line_and_ticks_every_station() -> None:
    facts = job_facts(state(), made(state(), "Size"), dated=DAY)
    plates = flange_plates(flanges(), facts)
    for plate, run in zip(plates, flanges().made, strict=True):
        length = max(length for _, length in run.run.lengths_mm)
        assert np.ptp(plate.outline[:, 0]) == pytest.approx(length + 12.0, abs=1e-9)
        ticks = [line.points[0, 0] for line in plate.lines if line.meaning is Meaning.TICK]
        assert ticks == pytest.approx([PITCH_MM * at for at in range(len(ticks))], abs=1e-9)
        assert plate.lines[0].meaning is Meaning.CUT
        assert plate.no_cut is None
    unproved = flange_plates(flanges(), replace(facts, size_proved=False))
    assert all(line.meaning is not Meaning.CUT for plate in unproved for line in plate.lines)
    assert unproved[0].no_cut == "SIZE NOT TAPED"


def test_what_stands_between_two_stations_is_what_the_edge_changes_by() -> None:
    facts = job_facts(state(), made(state(), "Size"), dated=DAY)
    plate = flange_plates(flanges(), facts)[0]
    first, second = flanges().made[0].run.stations[:2]
    change = PITCH_MM * (first.per_root + second.per_root) / 2.0
    near = [note.words for note in plate.notes if abs(note.place[0] - PITCH_MM / 2.0) < 1e-6]
    assert near == [f"+{plain_number(change)}"]


def test_the_tally_read_back_from_its_dxf_is_true_to_size() -> None:
    text = files()["flange 1 tally.dxf"].decode()
    drawing = ezdxf.filemanagement.read(io.StringIO(text))
    length = max(length for _, length in flanges().made[0].run.lengths_mm)
    widths = [
        np.ptp([point[0] for point in each.get_points()])
        for each in drawing.modelspace()
        if isinstance(each, LWPolyline)
    ]
    assert drawing.units == 4  # mm
    assert max(widths) == pytest.approx(length + 12.0, abs=1e-6)


def test_every_file_is_named_and_told() -> None:
    found = files()
    told = json.loads(found[FLANGES_JSON])
    assert set(told["files"]) == set(found)
    assert told["flanges"] == json.loads(json.dumps(flanges_told(state())))
    document = pypdfium2.PdfDocument(found["flanges.pdf"])
    assert len(document) == len(pages())
    document.close()
    station = told["flanges"]["runs"][0]["stations"][0]
    first = flanges().made[0].run.stations[0]
    assert station["edge_change"] == pytest.approx(first.stretch - 1.0, abs=1e-6)
    assert station["flat"] == pytest.approx(first.flat_mm, abs=1e-3)


def test_flanges_go_out_with_the_whole_job() -> None:
    facts = job_facts(state(), made(state(), "Size"), dated=DAY)
    kinds = kinds_made(state(), "Flanges")
    assert [kind.step for kind in kinds] == ["Flanges"]
    names = [sheaf.name for sheaf in rest_sheaves(rest_job(state(), facts), kinds)]
    assert names[0] == "flanges.pdf"
    assert "flange 1 tally.pdf" in names


def test_nothing_leaves_while_it_is_not_made() -> None:
    assert kinds_made(carried(), "Flanges") == ()
    with pytest.raises(NotReadyError):
        rest_job(JobState(), job_facts(state(), made(state(), "Size"), dated=DAY))


def test_a_metal_of_the_makers_own_is_judged_in_results_as_it_is_on_the_sheet() -> None:
    own = METALS["3003-H14"]
    changed = with_metal(state(), replace(state().metal, alloy="shop sheet"))
    facts = job_facts(changed, made(changed, "Size"), dated=DAY)

    def verdicts(job: RestJob) -> list[str]:
        runs = rest_json(job)["flanges"]["runs"]
        return [station["metal"] for run in runs for station in run["stations"]]

    known = verdicts(rest_job(changed, facts, metals={**METALS, "shop sheet": own}))
    named = with_metal(state(), replace(state().metal, alloy="3003-H14"))
    assert known == verdicts(rest_job(named, facts))
    assert known != verdicts(rest_job(changed, facts))  # without its facts

"""Capacity and fittings as they leave: pages read back, discs and stick measured in the DXF."""

import io
from dataclasses import replace
from datetime import date
from typing import Any

import ezdxf
import numpy as np
import pypdfium2
import pytest

from app.delivery import RestJob, rest_files, rest_job, rest_json
from app.delivery.rest import REST
from app.delivery.sheets import job_facts
from app.exports.drawing import Meaning
from app.exports.pages import FittingsSheet, fittings_pages
from app.job import (
    CapacityChoice,
    Directions,
    FittingsChoice,
    Fuel,
    JobState,
    RestOfTank,
    carried_through,
    made,
    next_tasks,
    with_result,
)
from geometry.tank import BossSpec
from tests.app.job.small_tank import RECESSED, TUNNEL, decided

TAP = BossSpec("main tap", "G 1/8", 46.0, 10.0, standpipe_mm=4.0)


@pytest.fixture(scope="module")
def state() -> JobState:
    begun = carried_through(decided(), "Surface")
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=FittingsChoice(RECESSED, (TAP,)))
    begun = replace(
        begun, rest=rest, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)), seams=()
    )
    begun = carried_through(begun, "Stood")
    for task in next_tasks(begun):
        if task.step in ("Capacity", "Fittings"):
            begun = with_result(begun, task, task.run())
    return begun


@pytest.fixture(scope="module")
def job(state: JobState) -> RestJob:
    return rest_job(state, job_facts(state, made(state, "Size"), dated=date(2030, 4, 1)))


def files_of(job: RestJob, step: str) -> dict[str, bytes]:
    (kind,) = (each for each in REST if each.step == step)
    return rest_files(job, kind)


def words_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    return " ".join(
        document[page].get_textpage().get_text_range() for page in range(len(document))
    ).replace("\r\n", " ")


def circles(dxf: bytes) -> dict[str, list[float]]:
    """Return the diameters of the circles on every layer: two arcs of half a turn each."""
    drawing = ezdxf.read(io.StringIO(dxf.decode("utf-8")))  # type: ignore[attr-defined]
    found: dict[str, list[float]] = {}
    lines: list[Any] = list(drawing.modelspace().query("LWPOLYLINE"))
    for thing in lines:
        corners = np.array(thing.get_points("xyb"))
        if thing.closed and len(corners) == 2:
            assert corners[:, 2] == pytest.approx([1.0, 1.0])
            across = float(np.linalg.norm(corners[1, :2] - corners[0, :2]))
            found.setdefault(thing.dxf.layer, []).append(across)
    return found


def test_the_capacity_page_tells_litres_low_points_and_cautions(
    state: JobState, job: RestJob
) -> None:
    fuel: Fuel = made(state, "Capacity")
    words = words_of(files_of(job, "Capacity")["capacity.pdf"])
    assert f"{fuel.held_mm3 / 1e6 * 1000.0:.0f} ml" in words
    assert "air stays" in words
    for part in ("low point 1", "On the side stand, 12° to the left", "DIP CHART", "main tap"):
        assert part in words
    for caution in ("vapour", "local codes", "vent"):
        assert caution in words


def test_the_fittings_page_says_where_its_threads_are_from(job: RestJob) -> None:
    words = words_of(files_of(job, "Fittings")["fittings.pdf"])
    for part in ("ISO 228-1", "ASME B1.20.1", "ISO 724", "thread it leaves", "G 1/8", "80 of 100"):
        assert part in words
    assert "Recess: beaten from a disc" in words


def test_many_bosses_send_the_threads_to_a_page_of_their_own(state: JobState, job: RestJob) -> None:
    fitted = made(state, "Fittings")
    sheet = FittingsSheet(job.facts, fitted, made(state, "Stood"))
    assert len(fittings_pages(sheet)) == 1
    crowd = replace(fitted, bosses=fitted.bosses * 12)
    pages = fittings_pages(replace(sheet, fitted=crowd))
    assert len(pages) == 2
    for page in pages:  # nothing runs into what stands at the foot
        body, foot = page.contents[1], page.contents[2]
        lowest = body.y + min(text.place[1] for text in body.drawing.texts)
        assert lowest > foot.y


def test_the_recess_blank_is_cut_as_equal_area_gives_it(state: JobState, job: RestJob) -> None:
    recess = made(state, "Fittings").filler.recess
    found = circles(files_of(job, "Fittings")["filler recess blank.dxf"])
    (cut,) = found["CUT"]
    assert cut == pytest.approx(recess.blank_mm, abs=1e-6)
    (hole,) = [across for name, all_of in found.items() if "FORM" in name for across in all_of]
    assert hole == pytest.approx(RECESSED.hole_mm, abs=1e-6)


def test_the_circles_of_the_recess_blank_are_numbered_on_it(job: RestJob) -> None:
    (kind,) = (each for each in REST if each.step == "Fittings")
    plate = next(each for each in kind.plates(job) if each.name == "filler recess blank")
    rings = [line.points for line in plate.lines if line.meaning is Meaning.SCRIBE]
    across = sorted((float(np.ptp(points[:, 0])) for points in rings), reverse=True)
    numbered = {note.words: 2.0 * float(np.linalg.norm(note.place)) for note in plate.notes}
    for number, size in enumerate(across, start=1):
        assert numbered[str(number)] == pytest.approx(size, rel=1e-3)
        assert any(fact.startswith(f"Circle {number}: ") for fact in plate.facts)


def test_the_dip_stick_says_which_end_stands_on_the_floor(job: RestJob) -> None:
    (kind,) = (each for each in REST if each.step == "Capacity")
    (stick,) = kind.plates(job)
    (foot,) = [note for note in stick.notes if note.words == "FOOT"]
    assert foot.place[0] < 10.0
    assert stick.top is not None
    assert stick.top.tolist() == [1.0, 0.0]
    words = words_of(files_of(job, "Capacity")["dip stick.pdf"])
    assert "LIES EITHER WAY" not in words
    assert "Either face" not in words


def test_the_ring_is_cut_round_and_through(job: RestJob) -> None:
    found = circles(files_of(job, "Fittings")["filler ring.dxf"])
    assert sorted(found["CUT"]) == pytest.approx([RECESSED.hole_mm, RECESSED.ring_mm], abs=1e-6)


def test_the_bottoms_holes_are_drawn_from_below(job: RestJob) -> None:
    """FRONT to the right, the tank's left below: y changes its sign; no cutting file."""
    (kind,) = (each for each in REST if each.step == "Fittings")
    plate = next(each for each in kind.plates(job) if each.name == "bottom marks")
    (hole,) = [line.points for line in plate.lines if line.meaning is Meaning.AFTER_FORMING]
    middle = (hole.min(axis=0) + hole.max(axis=0)) / 2.0
    assert middle == pytest.approx([TAP.x_mm, -TAP.y_mm], abs=1e-6)
    assert np.ptp(hole[:, 0]) == pytest.approx(9.728 + 8.0 - 4.0, abs=0.01)
    files = files_of(job, "Fittings")
    assert "bottom marks.dxf" not in files
    assert "THE BOTTOM THERE IS NOT IN THE SCAN" in words_of(files["fittings.pdf"])


def test_the_tunnels_opening_is_drawn_as_wide_as_its_legs_with_their_metal(
    state: JobState, job: RestJob
) -> None:
    """12 mm inside and 0.8 of metal on either hand, along the 50 mm it is long."""
    rest = replace(state.rest, capacity=CapacityChoice("flat", laid_tunnel=True), tunnel=TUNNEL)
    begun = replace(state, rest=rest)
    (task,) = (each for each in next_tasks(begun) if each.step == "Tunnel")
    begun = with_result(begun, task, task.run())
    (kind,) = (each for each in REST if each.step == "Fittings")
    plates = kind.plates(replace(job, state=begun))
    plate = next(each for each in plates if each.name == "bottom marks")
    left, right = [line.points for line in plate.lines if line.meaning is Meaning.SCRIBE]
    np.testing.assert_allclose(right[:, 1], 6.8, atol=1e-6)
    np.testing.assert_allclose(left[:, 1], -6.8, atol=1e-6)
    assert np.ptp(right[:, 0]) == pytest.approx(50.0, abs=0.1)  # both its ends stop inside
    assert any("13.6 mm" in fact and "Scribe it" in fact for fact in plate.facts)


def test_numbers_of_both_steps_stand_under_their_own_keys(state: JobState, job: RestJob) -> None:
    found = rest_json(job)
    capacity, fittings = found["capacity"], found["fittings"]
    assert capacity["litres"] == pytest.approx(made(state, "Capacity").held_mm3 / 1e6, abs=1e-4)
    assert capacity["us_gallons"] == pytest.approx(capacity["litres"] / 3.785411784, abs=1e-4)
    assert capacity["imperial_gallons"] == pytest.approx(capacity["litres"] / 4.54609, abs=1e-4)
    assert capacity["stances"][0]["name"] == "on the level"
    assert fittings["bosses"][0]["thread"] == "G 1/8"
    assert fittings["filler"]["hole"] == RECESSED.cut_mm


def test_without_proof_of_size_nothing_is_cut(state: JobState) -> None:
    facts = job_facts(state, made(state, "Size"), dated=date(2030, 4, 1))
    job = rest_job(state, replace(facts, size_proved=False))
    files = {**files_of(job, "Fittings"), **files_of(job, "Capacity")}
    assert not [name for name in files if name.endswith(".dxf")]
    assert "SIZE NOT TAPED" in words_of(files["filler recess blank.pdf"])

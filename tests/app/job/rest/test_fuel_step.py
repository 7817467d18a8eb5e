"""Capacity and fittings of a job: made only when begun, asked for when open, kept in the file."""

from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest

from app.job import (
    CapacityChoice,
    Directions,
    Fitted,
    FittingsChoice,
    Fuel,
    JobState,
    PartFill,
    RestOfTank,
    StepState,
    carried_through,
    failure,
    fitted_words,
    fuel_words,
    line_of,
    made,
    needed,
    next_tasks,
    open_job,
    part_state,
    read_rest,
    save_job,
    stands_words,
    stick_words,
    task_for,
    wall_of,
    with_failure,
    with_rest,
    with_result,
)
from app.job.choices.state import MetalChoice
from app.job.rest.fittings_step import DrawnSeams, fittings_step
from app.job.rest.fuel_step import StanceFound
from app.job.rest.fuel_words import air_words, left_words
from geometry.mesh import enclosed_volume
from geometry.progress import silent
from geometry.tank import (
    LEVEL,
    AirPocket,
    BossSpec,
    Depths,
    FillerSpec,
    OpenTankError,
    PlainTunnel,
    Trapped,
    capped,
)
from tests.app.job.small_tank import decided

TAP = BossSpec("main tap", "G 1/8", 20.0, 4.0)


@pytest.fixture(scope="module")
def surface() -> JobState:
    state = carried_through(decided(), "Surface")
    return replace(state, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))


@pytest.fixture(scope="module")
def counted_state(surface: JobState) -> JobState:
    return carried_to(with_rest(surface, capacity=CapacityChoice("flat")), "Capacity")


def carried_to(state: JobState, name: str) -> JobState:
    state = carried_through(state, "Stood")
    for task in next_tasks(state, name):
        if task.step == name:
            state = with_result(state, task, task.run())
    return state


def test_nothing_is_counted_before_it_is_begun(surface: JobState) -> None:
    assert not any(task.step in ("Capacity", "Fittings") for task in next_tasks(surface))
    assert needed(surface, "Capacity") == ""


def test_an_open_tank_is_not_closed_unasked(surface: JobState) -> None:
    state = carried_through(with_rest(surface, capacity=CapacityChoice()), "Stood")
    task = task_for(state, "Capacity")
    assert task is not None
    with pytest.raises(OpenTankError) as caught:
        task.run()
    state = with_failure(state, task, caught.value)
    error = failure(state, "Capacity")
    assert isinstance(error, OpenTankError)
    assert part_state(state, "Capacity") is StepState.NEEDS_YOU
    assert error.rims[0].length_mm > 100.0


def test_the_room_is_the_closed_outside_less_its_walls(counted_state: JobState) -> None:
    """Between the outside's own volume and that less skin area times wall, by Steiner's bound."""
    fuel: Fuel = made(counted_state, "Capacity")
    stood = made(counted_state, "Stood")
    outside = capped(stood.outside, {0: "flat"})
    whole = float(enclosed_volume(outside.vertices, outside.faces))
    area = float(np.linalg.norm(_areas(outside.vertices, outside.faces), axis=1).sum()) / 2.0
    assert whole - area * fuel.wall_mm <= fuel.held_mm3 < whole
    assert fuel.wall_mm == pytest.approx(wall_of(counted_state.metal))
    assert "brim" in line_of(counted_state, "Capacity")


def _areas(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    a, b, c = np.moveaxis(vertices[faces], 1, 0)
    return np.asarray(np.cross(b - a, c - a))


def test_baffles_are_taken_off(surface: JobState, counted_state: JobState) -> None:
    choice = CapacityChoice("flat", baffles_cm3=0.5)
    state = carried_to(with_rest(surface, capacity=choice), "Capacity")
    with_none, with_some = (made(each, "Capacity").held_mm3 for each in (counted_state, state))
    assert with_none - with_some == pytest.approx(500.0)


def test_walls_are_counted_from_the_face_that_was_scanned() -> None:
    assert wall_of(MetalChoice(1.6, paint_mm=0.3)) == pytest.approx(1.9)
    assert wall_of(MetalChoice(1.6, face="middle")) == pytest.approx(0.8)


def test_taps_of_the_fittings_say_what_stays_in_each_stance(surface: JobState) -> None:
    vent = replace(TAP, name="vent", kind="vent", below=False)
    fitted = FittingsChoice(bosses=(TAP, vent))
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=fitted)
    fuel: Fuel = made(carried_to(replace(surface, rest=rest), "Capacity"), "Capacity")
    assert [tap.spec.name for tap in fuel.taps] == ["main tap"]
    level, leant, up, down = fuel.stances
    assert [s.stance.name for s in fuel.stances][1:] == [
        "on the side stand",
        "nose up",
        "nose down",
    ]
    assert max(each.left_mm3 for each in (level, leant, up, down)) < fuel.held_mm3
    assert up.left_mm3 != pytest.approx(down.left_mm3, rel=1e-3)


@pytest.fixture(scope="module")
def filled(surface: JobState) -> Fuel:
    """The dome half full, leant to the right and nose up, with a filler and a tap on a pipe."""
    tap = replace(TAP, standpipe_mm=12.0)
    filler = FillerSpec(46.0, hole_mm=14.0, ring_mm=20.0, cap_mm=16.0)
    part = PartFill(0.02, np.radians(15.0), "right", np.radians(5.0))
    rest = RestOfTank(
        capacity=CapacityChoice("flat", part=part), fittings=FittingsChoice(filler, (tap,))
    )
    fuel: Fuel = made(carried_to(replace(surface, rest=rest), "Capacity"), "Capacity")
    return fuel


def test_a_part_filling_says_which_outlets_it_covers(filled: Fuel) -> None:
    """The volume below its level is what was poured in; the pipe's mouth is 12 mm over its foot."""
    assert filled.part is not None
    standing = filled.part.standing
    (pool,) = standing.pools
    depths = Depths(filled.space.mesh, standing.stance)
    assert depths.volume(pool.level_mm) == pytest.approx(2e4, rel=1e-6)
    mouth, floor = filled.part.outlets
    assert (mouth.name, floor.name) == ("main tap", "main tap on reserve")
    assert floor.over_mm - mouth.over_mm == pytest.approx(12.0 * standing.stance.up[2], abs=1e-3)
    assert standing.stance.lean_left_rad == pytest.approx(-np.radians(15.0))
    assert filled.part.under_filler_mm is not None
    assert filled.part.under_filler_mm > 0.0
    told = " ".join(fuel_words(filled))
    assert "With 20 ml (0.042 US pt, 0.035 imp pt) in it, 15° to the right, nose up 5°:" in told
    dry = mouth.over_mm < 0.0
    assert (f"Main tap: {'DRY' if dry else 'covered'}") in told


def test_fuel_that_stands_over_the_filler_is_said_to_run_out(surface: JobState) -> None:
    filler = FillerSpec(46.0, hole_mm=14.0, ring_mm=20.0, cap_mm=16.0)
    choice = CapacityChoice("flat")
    rest = RestOfTank(capacity=choice, fittings=FittingsChoice(filler))
    whole: Fuel = made(carried_to(replace(surface, rest=rest), "Capacity"), "Capacity")
    full = PartFill(0.999 * whole.space.volume_mm3 / 1e6, np.radians(20.0))
    rest = replace(rest, capacity=replace(choice, part=full))
    fuel: Fuel = made(carried_to(replace(surface, rest=rest), "Capacity"), "Capacity")
    assert "RUNS OUT AT THE FILLER" in " ".join(fuel_words(fuel))


def test_air_that_stays_is_told_upright_and_on_the_side_stand(filled: Fuel) -> None:
    """A dome with its filler on top: upright next to nothing, leant the upper side's own air.

    All of it lies over the filler's lowest edge, so that no vent helps.
    """
    level, leant, up, down = filled.stances
    assert level.air is not None
    assert leant.air is not None
    assert (up.air, down.air) == (None, None)
    low, high = (sum(each.volume_mm3 for each in found) for found in (level.air, leant.air))
    assert low < 0.02 * filled.held_mm3
    assert low < high < 0.3 * filled.held_mm3
    assert max(each.ventable_mm3 for each in leant.air) < 1.0
    assert all(each.place[1] < 0.0 for each in leant.air)  # it leans to the left
    assert "no air stays worth telling" in " ".join(fuel_words(filled))


@pytest.mark.parametrize("seat", ["flat", "recessed"])
def test_what_goes_in_to_the_filler_and_the_air_that_stays_make_the_whole(
    surface: JobState, seat: Literal["flat", "recessed"]
) -> None:
    """Two routes to one figure on the level, and the chart ends at what the tank holds."""
    filler = FillerSpec(
        46.0, hole_mm=14.0, ring_mm=20.0, cap_mm=16.0, seat=seat, recess_mm=20.0, depth_mm=8.0
    )
    rest = RestOfTank(
        capacity=CapacityChoice("flat", baffles_cm3=2.0), fittings=FittingsChoice(filler)
    )
    fuel: Fuel = made(carried_to(replace(surface, rest=rest), "Capacity"), "Capacity")
    assert fuel.to_filler_mm3 is not None
    air = fuel.stances[0].air
    assert air is not None
    stays = sum(pocket.volume_mm3 for pocket in air)
    assert fuel.to_filler_mm3 + stays == pytest.approx(fuel.held_mm3, abs=150.0)  # 0.1 ml told
    assert (stays > 5000.0) == (seat == "recessed")
    assert float(fuel.chart.volume_mm3[-1]) <= fuel.held_mm3 * (1.0 + 1e-9)


def test_without_a_filler_no_air_is_looked_for(counted_state: JobState) -> None:
    fuel: Fuel = made(counted_state, "Capacity")
    assert [found.air for found in fuel.stances] == [None] * 4
    assert fuel.part is None


def test_a_part_filling_is_written_in_litres_and_degrees(tmp_path: Path) -> None:
    text = (
        '{"unit": "in", "capacity": {"part": {"litres": 3.5, "lean_deg": 15, "nose_up_deg": -5}}}'
    )
    (tmp_path / "rest.json").write_text(text)
    found = read_rest(tmp_path / "rest.json").capacity
    assert found is not None
    assert found.part == PartFill(3.5, np.radians(15.0), "left", -np.radians(5.0))


def test_fittings_are_set_on_the_skin(surface: JobState) -> None:
    rest = RestOfTank(capacity=CapacityChoice("flat"), fittings=FittingsChoice(bosses=(TAP,)))
    state = carried_to(replace(surface, rest=rest), "Fittings")
    fitted: Fitted = made(state, "Fittings")
    assert fitted.filler is None
    assert fitted.bosses[0].centre[2] == pytest.approx(0.0, abs=1.0)
    assert line_of(state, "Fittings") == "1 fitting"
    with pytest.raises(OpenTankError):
        carried_to(with_rest(state, capacity=None), "Fittings")


def test_fittings_on_skin_nobody_scanned_say_so(counted_state: JobState) -> None:
    """All of the skin guessed: the filler stands on it, the tap on the cap does not."""
    stood = made(counted_state, "Stood")
    guessed = replace(stood, filled=np.ones(len(stood.outside.faces), bool))
    filler = FillerSpec(46.0, hole_mm=14.0, ring_mm=20.0, cap_mm=16.0)
    choice = FittingsChoice(filler, (TAP,))
    for skin, names in ((stood, ()), (guessed, ("filler",))):
        found = fittings_step(skin, choice, "flat", 1.0, DrawnSeams((), 1.0), report=silent)
        assert found.guessed == names
        told = " ".join(fitted_words(found))
        assert ("NOT SCANNED" in told) == bool(names)


def test_what_is_guessed_of_how_it_stands_is_said(counted_state: JobState) -> None:
    stood = made(counted_state, "Stood")
    assert "GUESSED" not in " ".join(stands_words(stood))
    unsure = replace(stood, guessed=("front", "up"))
    assert stands_words(unsure)[0].startswith("FRONT AND UP GUESSED")


def test_capacity_and_fittings_come_back_from_the_job_file(tmp_path: Path) -> None:
    rest = RestOfTank(
        capacity=CapacityChoice(
            "ruled",
            PlainTunnel(70.0, 60.0, 75.0, 60.0),
            120.0,
            0.2,
            "right",
            part=PartFill(2.5, 0.1, "right", -0.05),
        ),
        fittings=FittingsChoice(FillerSpec(330.0, seat="recessed"), (TAP,)),
    )
    save_job(replace(JobState(), rest=rest), tmp_path / "job.lowcrown")
    assert open_job(tmp_path / "job.lowcrown").rest == rest


def test_the_stick_stands_where_there_is_room_over_its_foot(counted_state: JobState) -> None:
    """Its chart runs up to the roof there, four fifths of the highest at least, from near empty."""
    fuel: Fuel = made(counted_state, "Capacity")
    tall = float(np.ptp(fuel.space.mesh.vertices[:, 2]))
    assert fuel.chart.depth_mm[-1] > 0.75 * tall
    assert fuel.chart.volume_mm3[0] < 0.05 * fuel.held_mm3
    assert stick_words(fuel) == []
    lifted = replace(fuel.chart, volume_mm3=fuel.chart.volume_mm3 + 3e5)
    assert "STANDS lower than its foot" in " ".join(stick_words(replace(fuel, chart=lifted)))


def test_each_pool_and_pocket_has_its_place_and_one_alone_is_told_once() -> None:
    one = Trapped(np.array([36.0, 43.0, 2.0]), 494e3, (-60.0, 60.0))
    other = Trapped(np.array([345.0, -101.0, 0.0]), 18e3, (-120.0, -80.0))
    caught = AirPocket(np.array([80.0, 0.0, 190.0]), 300e3, 250e3)
    found = StanceFound(LEVEL, (), (one, other), (caught,))
    assert left_words(found).startswith("the taps leave 512 ml (1.08 US pt, 0.90 imp pt): 494 ml")
    assert "0.87 imp pt) on both sides, lowest 36 mm" in left_words(found)
    assert "0.032 imp pt), lowest 345 mm" in left_words(found)
    alone = replace(found, left=(other,))
    assert left_words(alone).count("18 ml") == 1
    told = air_words(found)
    assert told.count("300 ml") == 1
    assert "on the centre line - A VENT BELONGS THERE, it lets out 250 ml" in told
    assert "no vent helps" in air_words(replace(found, air=(replace(caught, ventable_mm3=0.0),)))
    assert "no air stays" in air_words(replace(found, air=()))

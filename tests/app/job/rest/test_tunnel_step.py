"""The tunnel of a job: made only when begun, on the tank as it stands, kept in the file."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from app.job import (
    CapacityChoice,
    Directions,
    DirectionsUnknownError,
    FrameBody,
    FrameFitChoice,
    JobState,
    MetalChoice,
    StepState,
    TankSpot,
    TunnelLaid,
    carried_through,
    failure,
    line_of,
    made,
    needed,
    next_tasks,
    open_job,
    save_job,
    state_of,
    task_for,
    tunnel_alone,
    tunnel_of_metal,
    tunnel_sheet,
    tunnel_warnings,
    with_failure,
    with_rest,
    with_result,
)
from app.job.files.plain_json import Written, facts_of, value_of
from geometry.metal import METALS, UnknownMetalError, metal_from_facts
from geometry.tank import (
    Room,
    RoundBody,
    TunnelEnd,
    TunnelPlace,
    TunnelRoom,
    TunnelSheet,
    TunnelSizeError,
    TunnelSpec,
    TunnelStep,
    WiderThanTankError,
)
from tests.app.job.small_tank import TUNNEL, decided


@pytest.fixture(scope="module")
def surface() -> JobState:
    state = carried_through(decided(), "Surface")
    return replace(state, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))


def _tried(state: JobState) -> JobState:
    state = carried_through(state, "Stood")
    task = task_for(state, "Tunnel")
    assert task is not None
    try:
        return with_result(state, task, task.run())
    except (WiderThanTankError, DirectionsUnknownError) as error:
        return with_failure(state, task, error)


def test_no_tunnel_is_laid_out_before_it_is_begun(surface: JobState) -> None:
    assert surface.rest.tunnel is None
    assert "Tunnel" not in [task.step for task in next_tasks(surface, "Tunnel")]


def test_a_tunnel_begun_sits_in_the_tank_and_goes_when_taken_back(surface: JobState) -> None:
    state = _tried(with_rest(surface, tunnel=TUNNEL))
    laid: TunnelLaid = made(state, "Tunnel")
    assert laid.tunnel.in_tank
    assert laid.axes is not None
    np.testing.assert_allclose(laid.mesh.vertices[:, 2].min(), laid.tunnel.seat.foot_mm, atol=0.2)
    assert "long" in line_of(state, "Tunnel")
    wider = with_rest(state, tunnel=replace(TUNNEL, flare_rad=0.1))
    assert made(wider, "Tunnel") is None
    assert made(with_rest(wider, tunnel=TUNNEL), "Tunnel") is laid


def test_what_does_not_fit_is_kept_as_what_went_wrong(surface: JobState) -> None:
    wide = TunnelEnd(12.0, 120.0)
    too_wide = replace(TUNNEL, rear=wide, front=wide, top="flat", corner_radius_mm=2.0)
    error = failure(_tried(with_rest(surface, tunnel=too_wide)), "Tunnel")
    assert isinstance(error, WiderThanTankError)


def test_what_takes_the_tunnel_up_waits_until_it_is_mended_or_left_out(surface: JobState) -> None:
    wide = TunnelEnd(12.0, 120.0)
    too_wide = replace(TUNNEL, rear=wide, front=wide, top="flat", corner_radius_mm=2.0)
    tube = FrameBody(
        "tube", across_mm=10.0, start=TankSpot(0.0, 0.0, 20.0), end=TankSpot(90.0, 0.0, 20.0)
    )
    begun = with_rest(
        surface,
        tunnel=too_wide,
        capacity=CapacityChoice("flat", laid_tunnel=True),
        frame_fit=FrameFitChoice((tube,)),
    )
    failed = _tried(begun)
    for name in ("Capacity", "Frame fit"):
        assert task_for(failed, name) is None
        assert state_of(failed, name) is StepState.NEEDS_YOU
        assert needed(failed, name).startswith("Mend the tunnel or leave it out")
    left_out = with_rest(failed, tunnel=None)
    assert task_for(left_out, "Frame fit") is not None
    assert needed(left_out, "Capacity").startswith("Begin Tunnel")
    mended = _tried(with_rest(failed, tunnel=TUNNEL))
    for name in ("Capacity", "Frame fit"):
        assert task_for(mended, name) is not None
        assert needed(mended, name) == ""


def test_the_frame_fit_hangs_on_how_capacity_closes_the_tank_and_on_no_more(
    surface: JobState,
) -> None:
    tube = FrameBody(
        "tube", across_mm=10.0, start=TankSpot(0.0, 0.0, 20.0), end=TankSpot(90.0, 0.0, 20.0)
    )
    closed = CapacityChoice("flat")
    begun = with_rest(surface, frame_fit=FrameFitChoice((tube,)), capacity=closed)
    begun = carried_through(begun, "Stood")
    task = task_for(begun, "Frame fit")
    assert task is not None
    found = with_result(begun, task, task.run())
    leant = with_rest(found, capacity=replace(closed, stick_x_mm=40.0, lean_rad=0.1))
    assert made(leant, "Frame fit") is made(found, "Frame fit") is not None
    assert made(with_rest(found, capacity=replace(closed, closing="ruled")), "Frame fit") is None
    assert made(with_rest(found, capacity=None), "Frame fit") is None


def test_a_tank_whose_front_nobody_said_gets_no_tunnel(surface: JobState) -> None:
    lost = replace(surface, directions=Directions(None, (0.0, 0.0, 1.0)))
    error = failure(_tried(with_rest(lost, tunnel=TUNNEL)), "Tunnel")
    assert isinstance(error, DirectionsUnknownError)
    assert error.missing == ("front",)


def test_a_front_the_datum_guessed_is_told() -> None:
    laid = tunnel_alone(TUNNEL, MetalChoice())
    assert not any("guess" in words for words in tunnel_warnings(laid))
    told = tunnel_warnings(replace(laid, guessed=("front", "up")))
    assert "The way of front and up is a guess" in told[0]


def test_the_metal_is_the_jobs_unless_the_tunnel_has_a_thickness_of_its_own() -> None:
    stiff = MetalChoice(1.6, "5052-H32")
    assert tunnel_sheet(TUNNEL, stiff).thickness_mm == 0.8
    assert tunnel_sheet(replace(TUNNEL, sheet_mm=None), stiff).least_radius_mm == 1.6
    own = MetalChoice(2.0, "5754", bend_radius_mm=3.0)
    assert tunnel_sheet(replace(TUNNEL, sheet_mm=1.0), own).least_radius_mm == pytest.approx(1.5)
    assert tunnel_alone(TUNNEL, stiff).axes is None


def test_a_tunnel_may_be_of_a_metal_of_its_own() -> None:
    soft, own = MetalChoice(1.6, "3003-H14"), MetalChoice(2.0, "5754", bend_radius_mm=3.0)
    stiff = tunnel_of_metal(replace(TUNNEL, sheet_mm=None), "5052 h32", METALS, 1.6)
    assert tunnel_sheet(stiff, soft) == TunnelSheet("5052-H32", 1.6, 1.6)
    assert tunnel_sheet(stiff, own).least_radius_mm == 3.0  # 1.5 thicknesses over 1/16 in
    known = {"5754": metal_from_facts({"alloy": "5754", "density": 2.67, "bend_radius": 1.5})}
    makers = tunnel_of_metal(TUNNEL, "5754", known, 1.6)
    assert tunnel_sheet(makers, soft).least_radius_mm == pytest.approx(1.2)
    assert tunnel_of_metal(makers, None, known, 1.6) == TUNNEL
    assert tunnel_of_metal(replace(TUNNEL, metal=""), "", known, 1.6) == TUNNEL
    with pytest.raises(UnknownMetalError):
        tunnel_of_metal(TUNNEL, "tin", METALS, 1.6)
    with pytest.raises(TunnelSizeError):
        tunnel_alone(replace(TUNNEL, metal="5754", bend_ratio=-1.0), soft)


def test_every_decision_comes_back_from_the_job_file(surface: JobState, tmp_path: Path) -> None:
    tube = RoundBody("tube", (0.0, 1.0, 5.0), (90.0, 0.0, 6.0), 6.0)
    full = replace(
        TUNNEL,
        top="three sided",
        steps=(TunnelStep(20.0, TunnelEnd(12.0, 12.0), TunnelEnd(14.0, 14.0)),),
        tube=tube,
        others=(replace(tube, name="bolt"),),
        room=TunnelRoom(coil=Room(2.0, 1.0)),
        bend_radius_mm=2.0,
        metal="5754",
        bend_ratio=1.5,
        tighter_bend=True,
        place=TunnelPlace(5.0, 1.0, -0.05),
    )
    path = tmp_path / "tank.lowcrown"
    save_job(with_rest(surface, tunnel=full), path)
    assert open_job(path).rest.tunnel == full
    save_job(with_rest(surface, tunnel=TUNNEL), path)
    assert open_job(path).rest.tunnel == TUNNEL


def test_a_makers_file_is_read_in_its_own_unit_and_degrees() -> None:
    written = json.loads(
        '{"length": 12, "front": {"height": 3, "width": 2}, "rear": {"height": 2.5, "width": 1.5},'
        '"flare_deg": 5, "place": {"rear": 1, "nose_up_deg": 2}, "sheet": 0.063,'
        '"tube": {"name": "top tube", "start": [0, 0, 2], "end": [20, 0, 3], "diameter": 1.25},'
        '"room": {"bolts": {"over": 0.125}}}'
    )
    spec = value_of(TunnelSpec, written, "", Written(25.4))
    assert spec.length_mm == pytest.approx(304.8)
    assert spec.front is not None
    assert (spec.front.height_mm, spec.front.width_mm) == pytest.approx((76.2, 50.8))
    assert spec.flare_rad == pytest.approx(np.radians(5.0))
    assert spec.tube is not None
    assert spec.tube.end_mm == pytest.approx((508.0, 0.0, 76.2))
    assert spec.room.bolts.over_mm == pytest.approx(3.175)
    assert spec.room.left == Room(10.0, 6.0)
    again = facts_of(spec, Written(25.4))
    assert again["front"] == pytest.approx({"height": 3.0, "width": 2.0})
    assert again["flare_deg"] == pytest.approx(5.0)

"""The step of the frame fit: gaps of simple bodies to an invented skin, judged as a shop does."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from app.job import (
    CapacityChoice,
    FrameBody,
    FrameFitChoice,
    FrameGap,
    MetalChoice,
    PlacedSpot,
    SecondScan,
    SteeringChoice,
    StoodTank,
    TankSpot,
    TunnelLaid,
    frame_words,
    gap_place_words,
    lock_words,
    position_words,
    tunnel_alone,
)
from app.job.files.plain_json import Written, facts_of, value_of
from app.job.rest.frame_bodies import body_mesh
from app.job.rest.frame_bottom import Underneath
from app.job.rest.frame_step import FrameFit, frame_step
from app.job.rest.second_scan import ScanAtHand
from geometry.comparison import BodySizeError, SecondScanSizeError, SteeringLockError, block
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh
from geometry.progress import Cancelled, silent
from geometry.scan import MissingFileError
from geometry.surface import offset_inward
from geometry.tank import NegativeClearanceError, PlainTunnel, RoundBody, TunnelEnd, TunnelSpec
from tests.bodies import graph_patch
from tests.geometry.tank.bodies_to_fill import open_box

SHEET_MM = 2.0
METAL = MetalChoice(SHEET_MM, "3003-H14")


def stood(half: float = 60.0) -> StoodTank:
    """A level sheet whose outside looks up."""
    skin = graph_patch(np.zeros((31, 31)), half, half)
    none = np.zeros(len(skin.faces), bool)
    middle = skin.vertices - [0.0, 0.0, SHEET_MM / 2.0]
    return StoodTank(TankAxes(np.zeros(3), np.eye(3), True), skin, middle, none, none, (), True, ())


def bar(name: str, kind: str, height: float, across: float = 20.0, **more: object) -> FrameBody:
    body = FrameBody(name, "tube", "round", TankSpot(-30, 5, height), TankSpot(30, 5, height))
    return replace(body, kind=kind, across_mm=across, **more)  # type: ignore[arg-type]


def fit(*bodies: FrameBody, **more: object) -> FrameFit:
    choice = replace(FrameFitChoice(bodies=bodies), **more)  # type: ignore[arg-type]
    return frame_step(stood(), choice, METAL, report=silent)


def test_a_tube_under_the_metal_is_a_sheet_nearer_than_under_the_skin() -> None:
    """Axis 22 below the outside, radius 10, sheet 2: 10 to the metal's inside."""
    (found,) = fit(bar("top tube", "tube", -22.0)).gaps
    assert found.gap.side == "inside"
    assert found.gap_mm == pytest.approx(10.0, abs=0.02)
    assert found.verdict == "clear"


def test_a_bar_over_the_tank_is_as_far_off_as_the_skin() -> None:
    (found,) = fit(bar("bar", "bar", 22.0)).gaps
    assert found.gap_mm == pytest.approx(12.0, abs=0.02)


@pytest.mark.parametrize(
    ("kind", "height", "verdict"),
    [
        ("tube", -21.0, "clear"),
        ("tube", -17.0, "tight"),
        ("tube", -14.0, "too near"),
        ("tube", -9.0, "through"),
        ("bar", 19.0, "tight"),
        ("rubber", -11.9, "bears"),
        ("rubber", -9.0, "bears"),
        ("rubber", -6.0, "pressed too far"),
        ("rubber", -20.0, "clear"),
        ("tube", -140.0, "far off"),
    ],
)
def test_each_is_judged_by_what_it_is(kind: str, height: float, verdict: str) -> None:
    (found,) = fit(bar("it", kind, height)).gaps
    assert found.verdict == verdict
    assert found.is_wrong == (verdict in {"too near", "through", "pressed too far"})


def test_a_tube_has_more_room_over_it_than_beside_it() -> None:
    """7 mm off: too little under the skin, enough where the gap lies to one side."""
    over = fit(bar("tube", "tube", -19.0)).gaps[0]
    assert (over.wanted_mm, over.verdict) == (8.0, "tight")
    beside = FrameBody(
        "tube", "tube", "round", TankSpot(-20, 74, 0), TankSpot(20, 74, 0), across_mm=14.0
    )
    (found,) = fit(beside).gaps
    assert found.gap_mm == pytest.approx(7.0, abs=0.02)
    assert (found.wanted_mm, found.verdict) == (6.0, "clear")


def test_a_tube_that_misses_the_tank_is_told_not_refused() -> None:
    found = fit(bar("top tube", "tube", -140.0))
    assert "top tube" in frame_words(found.gaps, "mm")


def test_bars_are_tried_from_lock_to_lock() -> None:
    """A lever 100 ahead of a level axis swings down to the skin: least at one lock only."""
    lever = FrameBody("lever", "bar", "round", TankSpot(0, 40, 30), TankSpot(0, 50, 30), 8.0)
    axis = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(30.0))
    found = fit(lever, steering=axis).gaps
    turned = sorted(round(float(np.degrees(each.turn_rad or 0.0))) for each in found)
    assert turned == [-30, 0, 30]
    least = found[0]
    low = 30.0 - 50.0 * np.sin(np.radians(30.0)) - 4.0 * np.cos(np.radians(30.0))
    assert least.gap_mm == pytest.approx(low, abs=0.03)
    assert "30\u00b0 right" in position_words(least)


def test_a_place_between_the_locks_is_told_where_it_is_nearer() -> None:
    """Hanging straight down when straight ahead, it is nearest there; told once."""
    pin = FrameBody("pin", "bar", "round", TankSpot(0, 0, 30), TankSpot(0, 0, 8), 2.0)
    axis = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(30.0))
    found = fit(pin, steering=axis).gaps
    assert found[0].turn_rad == pytest.approx(0.0)
    assert len(found) == 3


def test_the_edge_of_a_wide_end_is_lowest_where_it_hangs_straight_down() -> None:
    """22 long and 5 to the edge: hypot(22, 5) below the axis, atan(5 / 22) to either side."""
    pin = FrameBody("pin", "bar", "round", TankSpot(0, 0, 30), TankSpot(0, 0, 8), 10.0)
    axis = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(30.0))
    least = fit(pin, steering=axis).gaps[0]
    assert least.gap_mm == pytest.approx(30.0 - np.hypot(22.0, 5.0), abs=0.17)
    assert abs(least.turn_rad or 0.0) == pytest.approx(np.arctan2(5.0, 22.0), abs=0.1)


def ribbed(near: float) -> StoodTank:
    """A rib 4 wide that points at the axis under 4 degrees to the left, its tip so far from it."""
    way = np.array([np.cos(np.radians(4.0)), np.sin(np.radians(4.0)), 0.0])
    skin = block(near * way, (near + 40.0) * way, 4.0, 40.0)
    none = np.zeros(len(skin.faces), bool)
    axes = TankAxes(np.zeros(3), np.eye(3), True)
    return StoodTank(axes, skin, 0.99 * skin.vertices, none, none, (), True, ())


@pytest.mark.parametrize(
    ("near", "gap_mm", "verdict"),
    [
        (431.0, 21.0, "clear"),
        (418.0, 8.0, "tight"),
        (412.0, 2.0, "too near"),
        (405.0, 0.0, "through"),
    ],
)
def test_a_rib_that_is_passed_between_the_locks_is_told(
    near: float, gap_mm: float, verdict: str
) -> None:
    """The bar's outside passes 410 from the axis; it is tried at 4 degrees only by being searched.

    Through, it reaches half the rib's width: no place in a rib is farther from its skin.
    """
    lever = FrameBody("lever", "bar", "round", TankSpot(400, 0, -9), TankSpot(400, 0, 9), 20.0)
    axis = SteeringChoice(TankSpot(0, 0, -50), TankSpot(0, 0, 50), np.radians(32.0))
    choice = FrameFitChoice(bodies=(lever,), steering=axis)
    found = frame_step(ribbed(near), choice, METAL, report=silent).gaps
    assert len(found) == 4
    least = found[0]
    assert least.gap_mm == pytest.approx(gap_mm, abs=0.2)
    assert least.verdict == verdict
    assert least.gap.reach_mm == pytest.approx(2.0 if verdict == "through" else 0.0, abs=0.05)
    assert np.degrees(least.turn_rad or 0.0) == pytest.approx(4.0, abs=0.7)


def test_a_tube_under_an_edge_is_measured_to_the_nearer_face_of_the_metal() -> None:
    """Its axis 14 out and 10 under the edge of the outside; that of the inside lies 2 lower."""
    low = FrameBody("tube", "tube", "round", TankSpot(-20, 74, -10), TankSpot(20, 74, -10), 14.0)
    (found,) = fit(low).gaps
    assert found.gap.side == "beyond"
    assert found.gap_mm == pytest.approx(np.hypot(14.0, 8.0) - 7.0, abs=0.02)


@pytest.mark.parametrize("lock_deg", [0.0, -35.0, 300.0])
def test_a_lock_no_bars_have_is_refused_even_where_nothing_turns(lock_deg: float) -> None:
    axis = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(lock_deg))
    with pytest.raises(SteeringLockError) as found:
        fit(bar("tube", "tube", 30.0), steering=axis)
    assert found.value.lock_rad == pytest.approx(np.radians(lock_deg))


def test_a_wide_lock_is_doubted() -> None:
    axis = SteeringChoice(TankSpot(-50, 0, 30), TankSpot(50, 0, 30), np.radians(75.0))
    assert "75" in lock_words(FrameFitChoice(steering=axis))
    assert lock_words(FrameFitChoice(steering=replace(axis, lock_rad=np.radians(60.0)))) == ""


def test_a_body_on_both_hands_is_measured_on_both() -> None:
    found = fit(bar("leg", "other", 30.0, both_hands=True)).gaps
    assert {each.hand for each in found} == {"left", "right"}
    assert {np.sign(each.gap.on_body[1]) for each in found} == {-1.0, 1.0}


@pytest.mark.parametrize("typed", [40.0, -40.0])
def test_the_hand_told_is_the_one_that_is_nearer(typed: float) -> None:
    """The left half of the skin stands 5 higher: whichever hand the body was typed on."""
    tank = stood()
    left = tank.outside.vertices[:, 1] > 20.0
    raised = tank.outside.vertices + np.where(left, 5.0, 0.0)[:, None] * [0.0, 0.0, 1.0]
    higher = replace(tank, outside=TriMesh(raised, tank.outside.faces), middle=raised - [0, 0, 1])
    leg = FrameBody("leg", "other", "round", TankSpot(-20, typed, 30), TankSpot(20, typed, 30), 20)
    choice = FrameFitChoice(bodies=(replace(leg, both_hands=True),))
    near, far = frame_step(higher, choice, METAL, report=silent).gaps
    assert (near.hand, far.hand) == ("left", "right")
    np.testing.assert_allclose([near.gap_mm, far.gap_mm], [15.0, 20.0], atol=0.02)
    assert near.gap.on_body[1] > 0.0 > far.gap.on_body[1]


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_body_across_the_middle_is_mirrored_as_a_whole(sign: float) -> None:
    """From 20 on one hand to 50 on the other: on both, straight, and once each way round."""
    cross = FrameBody(
        "stay", "other", "round",
        TankSpot(0, -20 * sign, 30), TankSpot(0, 50 * sign, 30), 10.0, both_hands=True,
    )  # fmt: skip
    ends = {each.hand: (each.body.start.left_mm, each.body.end.left_mm) for each in fit(cross).gaps}
    assert ends == {"left": (-20.0, 50.0), "right": (20.0, -50.0)}


def test_a_body_without_size_is_refused_by_name() -> None:
    with pytest.raises(BodySizeError) as caught:
        fit(bar("coil", "coil", 30.0, across=0.0))
    assert (caught.value.name, caught.value.what) == ("coil", "across")


def test_a_steering_axis_without_length_is_refused() -> None:
    axis = SteeringChoice(TankSpot(0, 0, 30), TankSpot(0, 0, 30))
    with pytest.raises(BodySizeError) as caught:
        fit(bar("bar", "bar", 30.0), steering=axis)
    assert caught.value.name == "steering axis"


def test_what_nobody_scanned_is_known_where_the_gap_is_least() -> None:
    tank = stood()
    filled = tank.outside.vertices[tank.outside.faces].mean(axis=1)[:, 1] > 0.0
    guessed = replace(tank, filled=filled)
    choice = FrameFitChoice(bodies=(bar("near", "other", 30.0),))
    assert frame_step(guessed, choice, METAL, report=silent).filled_near == (True,)


def test_words_say_where_and_which_is_worst() -> None:
    found = fit(bar("top tube", "tube", -9.0), bar("coil", "coil", 40.0))
    assert frame_words(found.gaps, "mm") == "1 body too near or through the skin"
    assert "left" in gap_place_words(found.gaps[-1], "mm")


def test_the_choice_goes_through_the_job_file_and_a_makers_file() -> None:
    axis = SteeringChoice(TankSpot(500, 0, 0), TankSpot(450, 0, 200))
    choice = FrameFitChoice((bar("coil", "coil", 30.0),), axis)
    assert value_of(FrameFitChoice, json.loads(json.dumps(facts_of(choice))), "fit") == choice
    written = json.loads(json.dumps(facts_of(choice, Written())))
    assert written["steering"]["lock_deg"] == pytest.approx(35.0)
    assert value_of(FrameFitChoice, written, "fit", Written()).bodies == choice.bodies


def tunnel(height: float) -> TunnelLaid:
    """A tunnel's sheet of 1.5 mm, its roof a plane so high over the tank's, 40 to either hand."""
    laid = tunnel_alone(TunnelSpec(300.0, TunnelEnd(60.0, 50.0), TunnelEnd(60.0, 50.0)),
                        MetalChoice(1.5, "3003-H14", "middle"))  # fmt: skip
    roof = graph_patch(np.full((9, 9), height), 80.0, 40.0)
    return replace(laid, mesh=TriMesh(roof.vertices, roof.faces[:, ::-1]))


def test_what_runs_in_the_tunnel_is_held_against_its_sheet() -> None:
    """Through the skin, 30 under the roof's middle: radius 10 and half of 1.5 taken off."""
    choice = FrameFitChoice(bodies=(bar("tube", "tube", 0.0),))
    found = frame_step(stood(), choice, METAL, Underneath(tunnel(30.0)), report=silent).gaps
    by = {each.against: each for each in found}
    assert by["tunnel"].gap_mm == pytest.approx(30.0 - 10.0 - 0.75, abs=0.02)
    assert by["tunnel"].verdict == "clear"
    assert by["tank"].verdict == "in the tunnel"
    assert not by["tank"].is_wrong


def test_what_goes_through_beside_the_tunnel_is_still_wrong() -> None:
    body = replace(bar("tube", "tube", 0.0), start=TankSpot(-30, 45, 0), end=TankSpot(30, 45, 0))
    choice = FrameFitChoice(bodies=(body,))
    found = frame_step(stood(), choice, METAL, Underneath(tunnel(30.0)), report=silent).gaps
    assert next(each for each in found if each.against == "tank").verdict == "through"


def box_tank() -> StoodTank:
    """A box 400 x 240 x 150 without its bottom, which is at z = 0; scanned on its outside."""
    skin = open_box(400.0, 240.0, 150.0)
    none = np.zeros(len(skin.faces), bool)
    middle = offset_inward(skin, SHEET_MM / 2.0)
    return StoodTank(TankAxes(np.zeros(3), np.eye(3), True), skin, middle, none, none, (), True, ())


def standing_at(left: float, low: float, high: float) -> FrameBody:
    """A round coil 40 across, upright in the middle of the tank's length."""
    foot, top = TankSpot(200.0, left, low), TankSpot(200.0, left, high)
    return FrameBody("coil", "coil", "round", foot, top, across_mm=40.0)


def held(body: FrameBody, capacity: CapacityChoice | None) -> dict[str, FrameGap]:
    choice = FrameFitChoice(bodies=(body,))
    under = Underneath(capacity=capacity)
    found = frame_step(box_tank(), choice, METAL, under, report=silent)
    assert found.bottom_held == (capacity is not None)
    return {each.against: each for each in found.gaps}


PLAIN_TUNNEL = PlainTunnel(60.0, 60.0, 60.0, 60.0, "flat")


def test_the_open_bottom_counts_as_the_sheet_that_closes_it() -> None:
    """A coil whose top is 32.5 mm under it; the wall's inside is 98 mm to the side of its edge."""
    coil = standing_at(0.0, -92.5, -32.5)
    by = held(coil, CapacityChoice("flat"))
    assert by["bottom"].gap_mm == pytest.approx(32.5, abs=1e-3)
    assert position_words(by["bottom"]) == "coil, to the bottom"
    assert by["tank"].gap_mm == pytest.approx(np.hypot(98.0, 32.5), abs=0.1)
    assert "bottom" not in held(coil, None)


def test_what_goes_up_through_the_bottom_is_through_and_what_floats_is_in_the_fuel() -> None:
    up_through = held(standing_at(60.0, -20.0, 60.0), CapacityChoice("flat"))
    assert up_through["tank"].verdict != "through"
    assert up_through["bottom"].verdict == "through"
    assert up_through["bottom"].is_wrong
    in_fuel = held(standing_at(60.0, 30.0, 80.0), CapacityChoice("flat"))["bottom"]
    assert in_fuel.verdict == "in the fuel"
    assert in_fuel.is_wrong
    assert frame_words([in_fuel], "mm") == "1 body too near or through the skin"


def test_what_stands_in_the_tunnel_is_not_in_the_fuel_and_sees_its_inside() -> None:
    """A plain tunnel 60 wide inside: a coil 40 across in its middle has 10 to either leg."""
    tunnelled = CapacityChoice("flat", tunnel=PLAIN_TUNNEL)
    by = held(standing_at(0.0, -60.0, 20.0), tunnelled)
    assert by["bottom"].gap_mm == pytest.approx(10.0, abs=0.05)
    assert not by["bottom"].is_wrong
    beside = held(standing_at(45.0, -60.0, 20.0), tunnelled)
    assert beside["bottom"].verdict == "through"


def test_the_bottom_is_not_held_where_nobody_said_what_goes_through_it() -> None:
    choice = FrameFitChoice(bodies=(standing_at(60.0, -20.0, 60.0),))
    assert not frame_step(box_tank(), choice, METAL, report=silent).bottom_held


def written(folder: Path, mesh: TriMesh, times: float = 1.0) -> str:
    path = folder / "frame.ply"
    trimesh.Trimesh(mesh.vertices * times, mesh.faces, process=False).export(path)
    return str(path)


def test_a_second_scan_in_the_same_axes_is_measured_as_it_lies(tmp_path: Path) -> None:
    mesh = body_mesh(bar("tube", "other", 25.0))
    (found,) = fit(second=SecondScan(written(tmp_path, mesh, 0.1), "cm")).gaps
    assert found.body.name == "frame.ply"
    assert found.gap_mm == pytest.approx(15.0, abs=0.02)


def test_a_second_scan_in_the_same_axes_has_the_scale_the_tapes_proved(tmp_path: Path) -> None:
    """Both 2 % small: its bar at 24.5 and 9.8 across is one at 25 and 10, as the tank is grown."""
    mesh = body_mesh(bar("tube", "other", 25.0))
    small = SecondScan(written(tmp_path, mesh, 0.98), "mm")
    choice, grown = FrameFitChoice(second=small), ScanAtHand(None, 1.0 / 0.98)
    (found,) = frame_step(stood(), choice, METAL, second=grown, report=silent).gaps
    assert found.gap_mm == pytest.approx(15.0, abs=0.02)
    in_cm = replace(choice, second=SecondScan(written(tmp_path, mesh, 0.1), "cm"))
    (other,) = frame_step(stood(), in_cm, METAL, second=grown, report=silent).gaps
    assert other.gap_mm == pytest.approx(15.0, abs=0.02)


def test_a_second_scan_is_placed_by_three_places(tmp_path: Path) -> None:
    turn = Rotation.from_euler("xyz", [0.4, 2.0, -1.0]).as_matrix()
    mesh = body_mesh(bar("tube", "other", 25.0))
    moved = TriMesh(mesh.vertices @ turn.T + [400.0, 5.0, 6.0], mesh.faces)
    places = np.array([[-30.0, 5, 25], [30.0, 5, 25], [0.0, 15, 25]])
    known = tuple(
        PlacedSpot(tuple(scan), TankSpot(*tank))
        for scan, tank in zip(
            (places @ turn.T + [400.0, 5.0, 6.0]).tolist(), places.tolist(), strict=True
        )
    )
    found = fit(second=SecondScan(written(tmp_path, moved), "mm", known))
    assert found.gaps[0].gap_mm == pytest.approx(15.0, abs=0.02)
    assert found.placed_off_mm == pytest.approx(0.0, abs=1e-3)


def test_a_second_scan_in_another_unit_is_refused(tmp_path: Path) -> None:
    mesh = body_mesh(bar("tube", "other", 25.0))
    with pytest.raises(SecondScanSizeError):
        fit(second=SecondScan(written(tmp_path, mesh), "m"))


def test_a_second_scan_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(MissingFileError):
        fit(second=SecondScan(str(tmp_path / "gone.ply")))


def test_stopping_stops_between_bodies() -> None:
    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    choice = FrameFitChoice(bodies=(bar("one", "tube", 30.0), bar("two", "tube", 40.0)))
    with pytest.raises(Cancelled):
        frame_step(stood(), choice, METAL, report=stop)


def test_the_skin_keeps_its_own_mesh() -> None:
    assert isinstance(fit(bar("coil", "coil", 40.0)).skin, TriMesh)


def test_a_tube_in_a_tunnel_is_as_far_off_as_the_tunnel_itself_says() -> None:
    """Two routes: from the tunnel's rulings, and from the folded sheet's triangles."""
    tube = RoundBody("frame tube", (-10.0, 0.0, 30.0), (310.0, 0.0, 36.0), 25.4)
    laid = tunnel_alone(TunnelSpec(300.0, tube=tube), METAL)
    typed = FrameBody(
        "frame tube", "tube", "round", TankSpot(-10, 0, 30), TankSpot(310, 0, 36), across_mm=25.4
    )
    choice, under = FrameFitChoice((typed,)), Underneath(laid)
    found = frame_step(stood(), choice, METAL, under, report=silent).gaps
    (to_sheet,) = [each for each in found if each.against == "tunnel"]
    least = min(gap.before_mm for gap in laid.tunnel.gaps)
    assert to_sheet.gap_mm == pytest.approx(least, abs=0.05)


def test_places_of_a_second_scan_tell_one_by_one_how_far_off_they_are(tmp_path: Path) -> None:
    """Four places in a cross about one middle, one typed 3 mm high: each is off by 3 / 4."""
    mesh = body_mesh(bar("tube", "other", 25.0))
    places = np.array([[-30.0, 5, 25], [30.0, 5, 25], [0.0, 65, 25], [0.0, -55, 25]])
    typed = places + [[0, 0, 0], [0, 0, 0], [0, 0, 3.0], [0, 0, 0]]
    known = tuple(
        PlacedSpot(tuple(scan), TankSpot(*tank))
        for scan, tank in zip(places.tolist(), typed.tolist(), strict=True)
    )
    found = fit(second=SecondScan(written(tmp_path, mesh), "mm", known))
    assert len(found.places_off_mm) == 4
    assert max(found.places_off_mm) == found.placed_off_mm
    assert found.places_off_mm == pytest.approx([0.75] * 4, abs=0.01)


@pytest.mark.parametrize(
    "name", ["at_lock_mm", "over_tube_mm", "beside_mm", "least_mm", "squash_mm"]
)
def test_room_below_nothing_is_refused(name: str) -> None:
    with pytest.raises(NegativeClearanceError) as found:
        fit(bar("tube", "tube", 30.0), **{name: -1.0})
    assert found.value.value_mm == -1.0


def test_what_turns_is_far_off_only_where_no_bars_reach() -> None:
    assert fit(bar("bar", "bar", 300.0)).gaps[0].verdict == "clear"
    assert fit(bar("bar", "bar", 3000.0)).gaps[0].verdict == "far off"
    assert fit(bar("tube", "tube", 300.0)).gaps[0].verdict == "far off"

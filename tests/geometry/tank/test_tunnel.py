"""Whole tunnels laid out for a barrel of closed form, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.tank import (
    AboveSkinError,
    BendTooTightError,
    BottomAboveLegsError,
    LegsShortError,
    NegativeClearanceError,
    OutsideTankError,
    Room,
    RoundBody,
    StepCrossesError,
    TooLowForRoundError,
    TopForm,
    TopTooNarrowError,
    TubeMissesTankError,
    TunnelEnd,
    TunnelEndsCrossError,
    TunnelEndsMissingError,
    TunnelGround,
    TunnelPlace,
    TunnelRoom,
    TunnelSheet,
    TunnelSizeError,
    TunnelSpec,
    TunnelStep,
    WiderThanTankError,
    first_through_skin,
    guessed_bands,
    lay_tunnel,
    tank_bottom,
    tunnel_mesh,
)
from tests.geometry.tank.tunnel_tanks import LONG_MM, RADIUS_MM, barrel, ground

TOPS: tuple[TopForm, ...] = ("half round", "half cone", "flat", "three sided")
SHEET = TunnelSheet("3003-H14", 1.6, 0.0)
STILL = TunnelPlace(40.0, fore_aft_mm=0.0, up_down_mm=0.0)
PLAIN = TunnelSpec(300.0, TunnelEnd(60.0, 50.0), TunnelEnd(60.0, 50.0), place=STILL)
TUBE = RoundBody("tube", (-20.0, 0.0, 40.0), (450.0, 0.0, 55.0), 32.0)


def test_a_plain_tunnel_has_the_outline_of_its_arithmetic() -> None:
    """Half round R 25 of 1.6: pi 25.8 over, two legs of 35 and 12.7 below; 300 and two 12.7."""
    (piece,) = lay_tunnel(PLAIN, SHEET).pieces
    across, along = np.ptp(piece.outline, axis=0)
    assert across == pytest.approx(np.pi * 25.8 + 2.0 * (35.0 + 12.7), abs=1e-6)
    assert along == pytest.approx(325.4, abs=1e-6)
    corners = piece.outline[piece.corners]
    np.testing.assert_allclose(np.abs(corners[:, 0]), 0.5 * across, atol=1e-6)


def test_legs_are_cut_the_run_out_below_the_lowest_place_they_may_meet_the_bottom() -> None:
    spec = replace(PLAIN, place=TunnelPlace(40.0, fore_aft_mm=5.0, up_down_mm=3.0), run_out_mm=10.0)
    (piece,) = lay_tunnel(spec, SHEET, ground(rise=0.05)).pieces
    for off in piece.cut_offs:
        along = (off.cut[1] - off.cut[0]) / np.linalg.norm(off.cut[1] - off.cut[0])
        square = np.array([along[1], -along[0]]) * np.sign(off.cut[0, 0])
        left_over = (off.cut[0] - off.lowest) @ square
        assert left_over.min() == pytest.approx(10.0, abs=1e-9)
        band = np.linalg.norm(off.lowest - off.highest, axis=1)
        np.testing.assert_allclose(band, 6.0 * np.cos(np.arctan(0.05)), atol=1e-6)
        assert (np.abs(off.middle[:, 0]) < np.abs(off.lowest[:, 0])).all()


def test_a_tunnel_over_a_tube_keeps_the_sum_of_clearances() -> None:
    """Square to the tube: 10 and 6 stay after a pull-in of 1 and 1, bolts' 3 mm added over it."""
    spec = TunnelSpec(300.0, place=STILL, tube=TUBE, room=TunnelRoom(bolts=Room(3.0, 0.0)))
    tunnel = lay_tunnel(spec, SHEET, ground())
    crown, left, right = tunnel.gaps
    assert crown.before_mm == pytest.approx(14.0, abs=1e-6)
    assert crown.after_mm == pytest.approx(13.0, abs=0.01)
    assert (left.before_mm, right.before_mm) == pytest.approx((7.0, 7.0), abs=0.01)
    assert (left.after_mm, right.after_mm) == pytest.approx((6.0, 6.0), abs=0.01)
    assert tunnel.folded_off_mm < 1e-5


def test_ends_are_scribed_where_the_faces_meet_the_walls() -> None:
    """Upright flat walls at 0 and 400: on the net, x = -20 and 380 of a tunnel set 20 ahead."""
    spec = replace(PLAIN, length_mm=360.0, place=replace(STILL, rear_mm=20.0), run_out_mm=25.0)
    tunnel = lay_tunnel(spec, SHEET, ground())
    front, rear = tunnel.scribes
    for scribe, x in ((front, LONG_MM - 20.0), (rear, -20.0)):
        (line,), (on_skin,) = scribe.lines, scribe.on_skin
        np.testing.assert_allclose(line[:, 1], x, atol=1e-6)
        np.testing.assert_allclose(on_skin[:, 0], x + 20.0, atol=1e-6)
        assert scribe.short_mm == 0.0
        assert not scribe.guessed
    shorter = lay_tunnel(replace(spec, run_out_mm=12.7), SHEET, ground())
    assert [s.short_mm for s in shorter.scribes] == pytest.approx([7.3, 7.3], abs=1e-6)


def test_skin_nobody_scanned_under_a_scribe_line_is_told() -> None:
    known = ground()
    guessed = np.zeros(len(known.skin.faces), bool)
    guessed[-60:] = True  # the front wall
    front, rear = lay_tunnel(PLAIN, SHEET, replace(known, guessed=guessed)).scribes
    assert (front.guessed, rear.guessed) == (True, False)


def test_the_folded_tunnel_ends_on_the_bottom_in_the_tank() -> None:
    tunnel = lay_tunnel(replace(PLAIN, flare_rad=0.1), SHEET, ground(rise=0.05))
    mesh = tunnel_mesh(tunnel)
    low = mesh.vertices[:, 2] - 0.05 * mesh.vertices[:, 0]
    assert low.min() == pytest.approx(0.0, abs=1e-6)
    assert mesh.vertices[:, 1].max() == pytest.approx(-mesh.vertices[:, 1].min(), abs=1e-9)


def test_a_step_parts_the_tunnel_and_gets_a_plate() -> None:
    step = TunnelStep(120.0, TunnelEnd(60.0, 50.0), TunnelEnd(80.0, 70.0))
    spec = replace(PLAIN, front=TunnelEnd(80.0, 70.0), steps=(step,), top="flat")
    tunnel = lay_tunnel(spec, SHEET)
    rear, front = tunnel.pieces
    assert rear.reach_mm == pytest.approx((-12.7, 119.2))
    assert front.reach_mm == pytest.approx((120.8, 312.7))
    (plate,) = tunnel.plates
    wide, high = np.ptp(plate.outline, axis=0)
    assert wide == pytest.approx(70.0 + 3.2)
    assert high == pytest.approx(80.0 + 1.6 + 12.7, abs=1e-6)
    inner = plate.outline[plate.corners[2] :]
    assert np.ptp(inner[:, 0]) == pytest.approx(50.0)


def test_progress_rises_and_the_work_can_be_stopped() -> None:
    seen: list[float] = []
    lay_tunnel(PLAIN, SHEET, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        lay_tunnel(PLAIN, SHEET, report=stop)


@pytest.mark.parametrize(
    ("spec", "error"),
    [
        (replace(PLAIN, length_mm=-3.0), TunnelEndsCrossError),
        (replace(PLAIN, flare_rad=1.2), TunnelSizeError),
        (replace(PLAIN, front=TunnelEnd(0.0, 50.0)), TunnelSizeError),
        (replace(PLAIN, front=None), TunnelEndsMissingError),
        (replace(PLAIN, room=TunnelRoom(cables=Room(-1.0))), NegativeClearanceError),
        (replace(PLAIN, rear=TunnelEnd(20.0, 50.0)), TooLowForRoundError),
        (replace(PLAIN, top="flat", corner_radius_mm=30.0), TopTooNarrowError),
        (replace(PLAIN, rear=TunnelEnd(60.0, 210.0), top="flat"), WiderThanTankError),
        (replace(PLAIN, front=TunnelEnd(150.0, 50.0)), AboveSkinError),
        (replace(PLAIN, place=replace(STILL, rear_mm=700.0)), OutsideTankError),
        (replace(PLAIN, place=replace(STILL, foot_mm=30.0)), LegsShortError),
        (replace(PLAIN, place=replace(STILL, foot_mm=-50.0)), BottomAboveLegsError),
        (replace(PLAIN, tube=replace(TUBE, start_mm=(-20.0, 0.0, 300.0))), TubeMissesTankError),
        (replace(PLAIN, tube=replace(TUBE, end_mm=(-20.0, 0.0, 400.0))), TubeMissesTankError),
        (
            replace(PLAIN, steps=(TunnelStep(400.0, TunnelEnd(60, 50), TunnelEnd(60, 60)),)),
            TunnelEndsCrossError,
        ),
        (
            replace(PLAIN, steps=(TunnelStep(150.0, TunnelEnd(60, 50), TunnelEnd(70, 40)),)),
            StepCrossesError,
        ),
    ],
)
def test_what_cannot_be_made_is_refused_by_its_name(
    spec: TunnelSpec, error: type[Exception]
) -> None:
    with pytest.raises(error):
        lay_tunnel(spec, SHEET, ground())


def test_refusals_carry_what_was_found_and_what_was_needed() -> None:
    with pytest.raises(WiderThanTankError) as wide:
        lay_tunnel(replace(PLAIN, rear=TunnelEnd(60.0, 210.0), top="flat"), SHEET, ground())
    assert (wide.value.end, wide.value.width_mm) == ("rear end", 213.2)
    assert wide.value.tank_mm == pytest.approx(200.0)
    with pytest.raises(LegsShortError) as short:
        lay_tunnel(replace(PLAIN, place=replace(STILL, foot_mm=30.0)), SHEET, ground())
    assert short.value.short_mm == pytest.approx(30.0, abs=1e-6)
    with pytest.raises(TopTooNarrowError) as narrow:
        lay_tunnel(replace(PLAIN, top="flat", corner_radius_mm=30.0), SHEET)
    assert (narrow.value.width_mm, narrow.value.needed_mm) == pytest.approx((50.0, 60.0))
    assert narrow.value.end == "rear end"
    tapered = replace(PLAIN, top="flat", rear=TunnelEnd(60.0, 41.0), front=TunnelEnd(60.0, 80.0))
    with pytest.raises(TopTooNarrowError) as past:
        lay_tunnel(replace(tapered, corner_radius_mm=20.0), SHEET)
    assert past.value.end == "run-out past the rear end"
    assert past.value.width_mm == pytest.approx(41.0 - 12.7 * 39.0 / 300.0)


def test_a_cones_radii_are_those_of_the_ends_asked_for() -> None:
    """A level cone of 25 to 20 mm: half the widths over the cosine of its slope, 1 in 60."""
    front, rear = TunnelEnd(65.0, 50.0), TunnelEnd(60.0, 40.0)
    (piece,) = lay_tunnel(replace(PLAIN, top="half cone", front=front, rear=rear), SHEET).pieces
    assert piece.bends[0].inside_radius_mm == pytest.approx((20.0, 25.0), abs=0.02)


def test_a_bend_below_the_metals_least_is_refused_unless_it_is_meant() -> None:
    stiff = TunnelSheet("5052-H32", 1.6, 2.4)
    spec = replace(PLAIN, top="three sided", bend_radius_mm=1.0)
    with pytest.raises(BendTooTightError) as found:
        lay_tunnel(spec, stiff)
    assert (found.value.radius_mm, found.value.least_mm, found.value.metal) == (
        1.0,
        2.4,
        stiff.name,
    )
    assert lay_tunnel(replace(spec, tighter_bend=True), stiff).bent_too_tight
    usual = lay_tunnel(replace(spec, bend_radius_mm=None), stiff)
    assert (usual.bend_radius_mm, usual.bent_too_tight) == (2.4, False)


def test_a_line_through_a_slanting_wall_meets_it_where_it_is() -> None:
    skin = barrel()
    ways = np.array([[0.6, 0.0, 0.8], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]])
    hits = first_through_skin(skin, np.tile([200.0, 0.0, 10.0], (3, 1)), ways)
    assert hits.far_mm[0] == pytest.approx((100.0 - 10.0) / 0.8, abs=0.1)
    assert hits.far_mm[1] == pytest.approx(200.0)
    assert not hits.found[2]


@pytest.mark.slow
def test_random_tunnels_are_laid_out_or_refused_by_name_and_never_cross_themselves() -> None:
    """120 of all forms, in and out of the tank: none ends in anything but a tunnel or a refusal."""
    rng, known = np.random.default_rng(7), ground()

    def end() -> TunnelEnd:
        return TunnelEnd(float(rng.uniform(5.0, 120.0)), float(rng.uniform(2.0, 150.0)))

    laid = 0
    for _ in range(120):
        length = float(rng.uniform(5.0, 500.0))
        steps = (TunnelStep(float(rng.uniform(-5.0, 1.1 * length)), end(), end()),)
        spec = TunnelSpec(
            length,
            end(),
            end(),
            top=TOPS[rng.integers(4)],
            corner_radius_mm=float(rng.uniform(0.5, 30.0)),
            flare_rad=float(rng.choice([0.0, rng.uniform(0.0, 1.1)])),
            steps=steps if rng.random() < 0.3 else (),
            run_out_mm=float(rng.uniform(0.0, 30.0)),
            place=TunnelPlace(float(rng.uniform(-50.0, 350.0))),
            tube=TUBE if rng.random() < 0.5 else None,
        )
        try:
            tunnel = lay_tunnel(spec, SHEET, known if rng.random() < 0.8 else None)
        except GeometryError:
            continue
        laid += 1
        assert tunnel.folded_off_mm < 1e-3
        assert all(Polygon(piece.outline).is_valid for piece in tunnel.pieces)
    assert laid > 20


def test_the_cut_off_over_a_guessed_edge_says_from_where_to_where() -> None:
    """Guessed from 120 to 200 of the tank; 20 is the rear end, and it may slide by 5 mm."""
    skin = barrel()
    middles = skin.vertices[skin.faces].mean(axis=1)
    guessed = (middles[:, 1] > 0.9 * RADIUS_MM) & (middles[:, 0] > 120.0) & (middles[:, 0] < 200.0)
    known = TunnelGround(skin, guessed, tank_bottom(skin, guessed))
    end = TunnelEnd(40.0, 40.0)
    spec = TunnelSpec(300.0, end, end, place=TunnelPlace(20.0))
    (piece,) = lay_tunnel(spec, SHEET, known).pieces
    for off in piece.cut_offs:
        ((start, stop),) = off.guessed_mm
        assert start == pytest.approx(120.0 - 20.0 - 5.0, abs=8.0)
        assert stop == pytest.approx(200.0 - 20.0 + 5.0, abs=8.0)
        assert start <= 100.0
        assert stop >= 180.0
    bands = guessed_bands(piece)
    assert len(bands) == 2
    for high, low in bands:
        assert np.ptp(high[:, 1]) == pytest.approx(stop - start, abs=0.5)
        assert np.abs(low[:, 0]).min() > np.abs(high[:, 0]).min()
    (whole,) = lay_tunnel(spec, SHEET, replace(known, bottom=tank_bottom(skin))).pieces
    assert all(off.guessed_mm == () for off in whole.cut_offs)


def test_parts_of_an_ends_line_over_guessed_skin_are_kept_apart() -> None:
    """The front wall is a guess over 30 mm: the line at the front runs over it in part."""
    skin = barrel()
    middles = skin.vertices[skin.faces].mean(axis=1)
    guessed = (middles[:, 0] > LONG_MM - 1.0) & (middles[:, 2] > 30.0)
    end = TunnelEnd(40.0, 40.0)
    spec = TunnelSpec(380.0, end, end, place=TunnelPlace(10.0), run_out_mm=20.0)
    front, rear = lay_tunnel(spec, SHEET, TunnelGround(skin, guessed, tank_bottom(skin))).scribes
    assert front.guessed
    assert not rear.guessed
    assert rear.guessed_lines == ()
    part = sum(LineString(line).length for line in front.guessed_lines)
    assert 0.0 < part < sum(LineString(line).length for line in front.lines)


def test_an_ends_line_goes_down_to_the_cut_off_and_no_further() -> None:
    """The barrel's end walls go down to its bottom, and a lip goes on below it."""
    skin = barrel()
    count = len(skin.vertices)
    lip = np.array([[LONG_MM, -90, -40], [LONG_MM, 90, -40], [LONG_MM, 90, -4], [LONG_MM, -90, -4]])
    with_lip = TriMesh(
        np.concatenate([skin.vertices, lip]),
        np.concatenate([skin.faces, count + np.array([[0, 1, 2], [0, 2, 3]])]),
    )
    end = TunnelEnd(40.0, 40.0)
    spec = TunnelSpec(380.0, end, end, place=TunnelPlace(10.0), run_out_mm=20.0)
    known = TunnelGround(with_lip, np.zeros(len(with_lip.faces), bool), tank_bottom(skin))
    for scribe in lay_tunnel(spec, SHEET, known).scribes:
        (line,) = scribe.on_skin
        assert line[:, 2].min() == pytest.approx(0.0, abs=1.1)
        assert (line[0, 1], line[-1, 1]) == pytest.approx((20.8, -20.8), abs=0.01)


def test_a_lip_far_from_an_end_is_none_of_it_and_a_hole_in_a_wall_parts_its_line() -> None:
    """A strip 60 behind the front wall, beside the bottom; and a hole in the front wall."""
    skin = barrel()
    count = len(skin.vertices)
    strip = np.array([[330.0, 15, 0], [330, 30, 0], [330, 30, 6], [330, 15, 6]])
    middles = skin.vertices[skin.faces].mean(axis=1)
    wall = skin.faces[middles[:, 0] > LONG_MM - 1.0]
    rest = skin.faces[middles[:, 0] <= LONG_MM - 1.0]
    end = TunnelEnd(40.0, 40.0)
    spec = TunnelSpec(380.0, end, end, place=TunnelPlace(10.0), run_out_mm=20.0)

    def front_of(*more: np.ndarray) -> tuple[np.ndarray, ...]:
        mesh = TriMesh(
            np.concatenate([skin.vertices, strip]),
            np.concatenate([rest, *more, count + np.array([[0, 1, 2], [0, 2, 3]])]),
        )
        known = TunnelGround(mesh, np.zeros(len(mesh.faces), bool), tank_bottom(skin))
        return lay_tunnel(spec, SHEET, known).scribes[0].on_skin

    (line,) = front_of(wall)
    assert line[:, 0] == pytest.approx(LONG_MM, abs=0.1)
    assert line[-1, 2] == pytest.approx(0.0, abs=1.1)  # the right leg, where no strip is
    assert 5.0 < line[0, 2] < 8.0
    above = wall[np.arange(len(wall)) % 30 > 3]  # two sectors of the wall are open
    parts = front_of(above)
    assert len(parts) > 1
    assert all(part[:, 0] == pytest.approx(LONG_MM, abs=0.1) for part in parts)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ((-20.0, 500.0, 40.0), (450.0, 500.0, 40.0)),  # beside it
        ((-20.0, 0.0, 300.0), (450.0, 0.0, 300.0)),  # over it
        ((-20.0, 0.0, -90.0), (450.0, 0.0, -90.0)),  # under it
        ((480.0, 0.0, 40.0), (900.0, 0.0, 40.0)),  # ahead of it
        ((-600.0, 0.0, 40.0), (-30.0, 0.0, 40.0)),  # behind it
        ((200.0, -90.0, 40.0), (200.0, 90.0, 40.0)),  # across it
    ],
)
@pytest.mark.parametrize("follows", [True, False])
def test_a_tube_that_misses_the_tank_is_told_before_ends_that_follow_it(
    start: tuple[float, float, float], end: tuple[float, float, float], follows: bool
) -> None:
    tube = RoundBody("tube", start, end, 32.0)
    spec = replace(PLAIN, tube=tube)
    if follows:
        spec = replace(spec, front=None, rear=None)
    with pytest.raises(TubeMissesTankError):
        lay_tunnel(spec, SHEET, ground())


def test_a_tube_of_which_a_piece_is_known_counts_all_along() -> None:
    tube = RoundBody("tube", (150.0, 0.0, 44.0), (260.0, 0.0, 46.0), 32.0)
    whole = replace(tube, start_mm=(40.0, 0.0, 42.0), end_mm=(370.0, 0.0, 48.0))
    ends = [
        lay_tunnel(replace(PLAIN, front=None, rear=None, tube=each), SHEET, ground()).spans[0]
        for each in (tube, whole)
    ]
    assert ends[0].behind.height_mm == pytest.approx(ends[1].behind.height_mm, abs=1e-6)

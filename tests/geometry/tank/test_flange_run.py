"""Flanges along lines of bodies of revolution, against their closed forms."""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, rims
from geometry.metal import FlangeTooWideError, FlangeWidthError, flat_edge_tipped, lip_off_wall
from geometry.progress import Cancelled
from geometry.tank import (
    Flange,
    FlangeEdgeTooShortError,
    FlangeRun,
    FlangeTurnError,
    RootLine,
    Stationing,
    flange_run,
)
from tests.bodies import patch, ring_of_revolution

WITHIN = 0.02  # of the value: what the run sheet is accepted by; met far better below
ONE_HAND = Stationing(pitch_mm=20.0, both_hands=False)


def lowest_rim(mesh: TriMesh) -> RootLine:
    loops = [mesh.vertices[loop] for loop in rims(mesh)]
    return RootLine(min(loops, key=lambda loop: float(loop[:, 2].mean())), is_closed=True)


def smallest_rim(mesh: TriMesh) -> RootLine:
    loops = [mesh.vertices[loop] for loop in rims(mesh)]
    return RootLine(min(loops, key=lambda loop: float(np.ptp(loop[:, 0]))), is_closed=True)


def largest_rim(mesh: TriMesh) -> RootLine:
    loops = [mesh.vertices[loop] for loop in rims(mesh)]
    return RootLine(max(loops, key=lambda loop: float(np.ptp(loop[:, 0]))), is_closed=True)


def wall(radius: float, lean_rad: float = 0.0) -> TriMesh:
    """Return a wall 60 high that leans inward as it goes up, its foot at z = 0, faces outward."""
    up = np.linspace(0.0, 60.0, 21)
    around = max(60, round(2.0 * np.pi * radius / 3.0))
    body = ring_of_revolution(radius - up * np.sin(lean_rad), up * np.cos(lean_rad), around)
    return outward(body)


def plate(inner: float, outer: float) -> TriMesh:
    """Return a flat ring, its face upward."""
    r = np.linspace(inner, outer, 15)
    body = ring_of_revolution(r, 0.0 * r, max(60, round(2.0 * np.pi * inner / 3.0)))
    faces = body.faces
    up = np.cross(*(body.vertices[faces[0, k]] - body.vertices[faces[0, 0]] for k in (1, 2)))[2]
    return body if up > 0.0 else TriMesh(body.vertices, faces[:, ::-1])


def outward(body: TriMesh) -> TriMesh:
    corner = body.vertices[body.faces[0]]
    normal = np.cross(corner[1] - corner[0], corner[2] - corner[0])
    is_out = normal[:2] @ corner[0, :2] > 0.0
    return body if is_out else TriMesh(body.vertices, body.faces[:, ::-1])


def stretches(run: FlangeRun) -> FloatArray:
    return np.array([station.stretch - 1.0 for station in run.stations])


@pytest.mark.parametrize(("radius", "width"), [(300.0, 12.0), (150.0, 12.0), (60.0, 10.0)])
@pytest.mark.parametrize("to", ["inside", "outside"])
def test_a_lip_off_a_wall_is_as_the_shop_reckons(radius: float, width: float, to: str) -> None:
    """Off by w / R a length of root: shrink to the inside, stretch to the outside; within 0.3 %."""
    flange = Flange(width, to=to)  # type: ignore[arg-type]
    run = flange_run(wall(radius), lowest_rim(wall(radius)), flange, ONE_HAND)
    told = lip_off_wall(width, radius, to_inside=to == "inside")
    assert stretches(run) == pytest.approx(told, rel=3e-3)
    assert {station.case for station in run.stations} == {"lip off a wall"}
    assert {station.curve for station in run.stations} == {"inside"}
    assert [station.per_root for station in run.stations] == pytest.approx(stretches(run), rel=1e-3)
    assert run.stations[0].radius_mm == pytest.approx(radius, rel=3e-3)
    assert run.stations[0].panel_lean_rad == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("turn", [30.0, 60.0, 90.0, 120.0])
@pytest.mark.parametrize(
    ("concave", "rim"), [(True, smallest_rim), (False, largest_rim)], ids=["concave", "convex"]
)
def test_a_tipped_flat_edge_is_as_the_closed_form(
    concave: bool, rim: Callable[[TriMesh], RootLine], turn: float
) -> None:
    """(R -+ h cos a) / (R -+ h) - 1, R 80 and 120, h 10; a length of cut edge; within 0.5 %."""
    body = plate(80.0, 120.0)
    run = flange_run(body, rim(body), Flange(10.0, np.radians(turn)), ONE_HAND)
    radius = 80.0 if concave else 120.0
    told = flat_edge_tipped(10.0, radius, concave=concave, turn_rad=np.radians(turn))
    assert stretches(run) == pytest.approx(told, rel=5e-3)
    assert {station.case for station in run.stations} == {"flat edge tipped"}
    assert {station.curve for station in run.stations} == {"concave" if concave else "convex"}


@pytest.mark.parametrize("lean", [-0.5, 0.2, 0.5])
def test_a_level_lip_off_a_leaning_wall_is_the_ring_it_ends_in(lean: float) -> None:
    """R 100, w 10: finished on R - 10; the wall rolls out to a ring, its edge 10 beyond the root:
    (R - 10) / (R + 10 sin(lean)). The turn is what the lean leaves of a right angle.
    """
    body = wall(100.0, lean)
    run = flange_run(body, lowest_rim(body), Flange(10.0, lies="level"), ONE_HAND)
    assert stretches(run) == pytest.approx(90.0 / (100.0 + 10.0 * np.sin(lean)) - 1.0, rel=5e-3)
    assert np.array([s.turn_rad for s in run.stations]) == pytest.approx(np.pi / 2 + lean, abs=3e-3)
    assert np.array([s.panel_lean_rad for s in run.stations]) == pytest.approx(lean, abs=3e-3)
    tips = np.array([station.tip for station in run.stations])
    assert np.linalg.norm(tips[:, :2], axis=1) == pytest.approx(90.0, abs=0.05)
    assert tips[:, 2] == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize("lean", [-0.3, 0.2, 0.4])
def test_a_change_can_be_worked_out_again_from_the_two_radii_told(lean: float) -> None:
    """R 100: of its bend the leaning wall has sin(lean) / R, away from the lip, the lip all of it.

    The change from them is the one told, bend and sheet counted.
    """
    body = wall(100.0, lean)
    flange = Flange(10.0, lies="level", root_radius_mm=3.0, sheet_mm=1.6)
    for station in flange_run(body, lowest_rim(body), flange, ONE_HAND).stations:
        assert station.bend_in_skin == pytest.approx(-np.sin(lean) / 100.0, abs=5e-5)
        assert station.bend_in_lip == pytest.approx(1.0 / 100.0, abs=5e-5)
        w, h = station.width_mm, station.flat_mm
        finished = 1.0 - w * station.bend_in_lip - (w - h) * station.bend_in_skin
        assert station.stretch == pytest.approx(finished / (1.0 - h * station.bend_in_skin), 1e-9)


def test_a_bend_takes_its_share_of_the_flat_width() -> None:
    """1.6 mm bent square over 1.6: FAA's bend allowance saves 2.76 mm, half of it the flange's."""
    body = wall(200.0)
    sharp = Flange(15.0)
    bent = Flange(15.0, root_radius_mm=1.6, sheet_mm=1.6)
    runs = [flange_run(body, lowest_rim(body), each, ONE_HAND) for each in (sharp, bent)]
    saved = (2.0 * 3.2 - 90.0 * (0.01743 * 1.6 + 0.0078 * 1.6)) / 2.0
    assert runs[0].stations[0].flat_mm == 15.0
    assert runs[1].stations[0].flat_mm == pytest.approx(15.0 - saved, abs=1e-9)


def test_a_straight_edge_neither_stretches_nor_shrinks() -> None:
    x, y = np.meshgrid(np.linspace(0.0, 200.0, 68), np.linspace(0.0, 60.0, 20))
    body = patch(x, y, 0.0 * x)
    line = RootLine(np.stack([np.linspace(0, 200, 68), 0 * x[0], 0 * x[0]], axis=1), False)
    run = flange_run(body, line, Flange(15.0), ONE_HAND)
    assert stretches(run).tolist() == [0.0] * len(run.stations)
    assert {station.case for station in run.stations} == {"straight"}
    assert all(np.isinf(station.radius_mm) for station in run.stations)


def test_scatter_moves_a_run_no_more_than_it_says() -> None:
    """A wall of R 150 scattered by 0.05 mm: within 4 of the errors told, and half a part in 100."""
    body = wall(150.0)
    scatter = 0.05 * np.random.default_rng(5).normal(size=body.vertices.shape)
    rough = TriMesh(body.vertices + scatter, body.faces)
    run = flange_run(rough, lowest_rim(rough), Flange(12.0), ONE_HAND)
    off = np.abs(stretches(run) + 12.0 / 150.0)
    assert np.all(off < 0.005)
    assert np.percentile(off / [station.spread for station in run.stations], 90) < 4.0
    assert run.noise_mm == pytest.approx(0.05, rel=0.3)


def test_both_hands_are_counted_from_the_centre_plane_and_agree() -> None:
    body = wall(150.0)
    run = flange_run(body, lowest_rim(body), Flange(12.0), Stationing(pitch_mm=40.0))
    left, right = run.of_hand("left"), run.of_hand("right")
    assert run.hands == ("left", "right")
    assert [each.number for each in left] == [each.number for each in right]
    assert left[0] is right[0]
    assert left[0].hand == "centre"
    assert left[0].place[1] == pytest.approx(0.0, abs=0.05)
    assert left[0].place[0] > 0.0
    for one, other in zip(left[1:], right[1:], strict=True):
        assert one.place[1] > 0.0 > other.place[1]
        assert np.multiply(one.place, (1, -1, 1)) == pytest.approx(other.place, abs=0.2)
        assert one.stretch == pytest.approx(other.stretch, rel=1e-3)
    lengths = dict(run.lengths_mm)
    assert lengths["left"] == pytest.approx(150.0 * np.pi, rel=2e-3)
    assert lengths["right"] == pytest.approx(150.0 * np.pi, rel=2e-3)
    gains = dict(run.gains_mm)
    assert gains["left"] == pytest.approx(
        -12.0 * np.pi * len(left[1:]) * 40 / (150 * np.pi), rel=0.01
    )


def test_a_line_on_one_hand_is_carried_over_to_the_other() -> None:
    body = wall(150.0)
    angle = np.linspace(0.4, 1.2, 60)
    line = np.stack([150 * np.cos(angle), 150 * np.sin(angle), 30.0 + 0 * angle], axis=1)
    run = flange_run(body, RootLine(line, False), Flange(10.0), Stationing(pitch_mm=20.0))
    assert run.mirrored == "right"
    for one, other in zip(run.of_hand("left"), run.of_hand("right"), strict=True):
        assert np.multiply(one.place, (1, -1, 1)) == pytest.approx(other.place, abs=0.1)
        assert one.stretch == pytest.approx(other.stretch, rel=0.02)
        assert one.tip[2] == pytest.approx(other.tip[2], abs=0.1)


def test_a_run_is_the_same_wherever_its_line_begins() -> None:
    body = wall(150.0)
    line = lowest_rim(body)
    again = RootLine(np.roll(line.points, 47, axis=0), True)
    runs = [flange_run(body, each, Flange(12.0), Stationing(40.0)) for each in (line, again)]
    assert stretches(runs[1]) == pytest.approx(stretches(runs[0]), abs=1e-6)


def test_what_cannot_be_is_refused() -> None:
    body = wall(20.0)
    rim = lowest_rim(body)
    with pytest.raises(FlangeTooWideError) as wide:
        flange_run(body, rim, Flange(25.0), ONE_HAND)
    assert wide.value.width_mm == 25.0
    assert wide.value.radius_mm == pytest.approx(20.0, rel=0.02)
    assert len(wide.value.place) == 3
    for width in (0.0, -3.0, float("nan")):
        with pytest.raises(FlangeWidthError):
            flange_run(body, rim, Flange(width), ONE_HAND)
    with pytest.raises(FlangeWidthError) as narrow:
        flange_run(body, rim, Flange(1.0, root_radius_mm=3.0, sheet_mm=1.6), ONE_HAND)
    assert narrow.value.least_mm > 1.0
    for turn in (0.0, 3.0):
        with pytest.raises(FlangeTurnError):
            flange_run(body, rim, Flange(5.0, turn), ONE_HAND)
    short = RootLine(rim.points[:9], False)
    with pytest.raises(FlangeEdgeTooShortError) as edge:
        flange_run(body, short, Flange(5.0), ONE_HAND)
    assert edge.value.length_mm < edge.value.least_mm


def test_a_level_flange_off_a_level_face_is_refused() -> None:
    body = plate(80.0, 120.0)
    with pytest.raises(FlangeTurnError) as lying:
        flange_run(body, smallest_rim(body), Flange(10.0, lies="level"), ONE_HAND)
    assert len(lying.value.place) == 3


def test_a_run_can_be_stopped() -> None:
    def stop(done: float, stage: str) -> None:
        raise Cancelled

    body = wall(60.0)
    with pytest.raises(Cancelled):
        flange_run(body, lowest_rim(body), Flange(5.0), ONE_HAND, report=stop)

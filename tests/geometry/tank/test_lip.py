"""Lips already in a scan, on turned walls whose root is known, and on the shipped sample."""

from functools import cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

import sample_data
from app.job import carried_through, made, open_job
from app.job.rest.stood import StoodTank, stood_step
from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, rims
from geometry.progress import Cancelled, silent
from geometry.tank import Lip, Stationing, lip_run, lips_along
from sample_data.generate import shape
from sample_data.truth import bottom_rim, from_file
from tests.bodies import ring_of_revolution

MM_PER_INCH = 25.4


def lipped(turn_deg: float, width: float, bend: float, *, radius: float = 120.0) -> TriMesh:
    """Return a wall 60 high with a lip turned at its foot, to the inside if above 0.

    `width` from where wall and lip would meet, `bend` the outside radius; points about 2 mm apart.
    """
    turn = np.radians(abs(turn_deg))
    setback = bend * np.tan(turn / 2.0)
    angle = np.linspace(0.0, turn, max(3, round(bend * turn / 2.0) + 1))
    inward, down = bend * (1.0 - np.cos(angle)), bend * np.sin(angle)
    out = np.linspace(0.0, width - setback, max(3, round((width - setback) / 2.0) + 1))[1:]
    inward = np.concatenate([inward, inward[-1] + out * np.sin(turn)])
    down = np.concatenate([down, down[-1] + out * np.cos(turn)])
    up = np.linspace(60.0, 2.0, 30)
    r = np.concatenate([0.0 * up, inward]) * np.sign(turn_deg)
    z = np.concatenate([up, -down])
    body = ring_of_revolution(radius - r, z, round(2.0 * np.pi * radius / 3.0))
    corner = body.vertices[body.faces[0]]
    normal = np.cross(corner[1] - corner[0], corner[2] - corner[0])
    out_of = normal[:2] @ corner[0, :2] > 0.0
    return body if out_of else TriMesh(body.vertices, body.faces[:, ::-1])


def lower(mesh: TriMesh) -> int:
    return int(np.argmin([mesh.vertices[loop][:, 2].mean() for loop in rims(mesh)]))


def found_on(mesh: TriMesh) -> tuple[Lip, ...]:
    return lips_along(mesh, rims(mesh)[lower(mesh)])


@pytest.mark.parametrize(
    ("turn", "width", "bend"),
    [(90.0, 12.0, 5.0), (60.0, 10.0, 5.0), (-90.0, 12.0, 4.0), (45.0, 20.0, 8.0), (110.0, 16, 5.0)],
)
def test_a_lip_is_found_with_its_root_line(turn: float, width: float, bend: float) -> None:
    """Root: the middle of the bend, bend sin(turn / 2) below its beginning, within 0.5 mm.

    Width within 0.6 mm, turn within 4 degrees: points are 2 mm apart on a bend of 5.
    """
    (lip,) = found_on(lipped(turn, width, bend))
    assert lip.is_closed
    assert np.degrees(lip.turn_rad) == pytest.approx(turn, abs=4.0)
    assert lip.width_mm == pytest.approx(width, abs=0.6)
    half = np.radians(abs(turn)) / 2.0
    assert lip.root[:, 2] == pytest.approx(-bend * np.sin(half), abs=0.5)
    away = np.sign(turn) * bend * (1.0 - np.cos(half))
    assert np.linalg.norm(lip.root[:, :2], axis=1) == pytest.approx(120.0 - away, abs=0.5)


@pytest.mark.parametrize(
    ("turn", "width", "bend"), [(20.0, 12.0, 5.0), (90.0, 50.0, 5.0), (90.0, 40.0, 30.0)]
)
def test_what_is_no_lip_is_not_told_as_one(turn: float, width: float, bend: float) -> None:
    """A slight turn, a face 50 wide, a round of 30."""
    assert found_on(lipped(turn, width, bend)) == ()


def test_a_plain_wall_has_none() -> None:
    z = np.linspace(0.0, 80.0, 30)
    body = ring_of_revolution(100.0 + 0.0 * z, z, 200)
    assert lips_along(body, rims(body)[0]) == ()


def test_scatter_hides_no_lip_and_makes_none() -> None:
    """0.1 mm, two of the points' own spacing in a hundred."""
    rng = np.random.default_rng(3)
    for turn, count in ((90.0, 1), (15.0, 0)):
        body = lipped(turn, 12.0, 5.0)
        rough = TriMesh(body.vertices + 0.1 * rng.normal(size=body.vertices.shape), body.faces)
        lips = found_on(rough)
        assert len(lips) == count
        if lips:
            assert lips[0].length_mm == pytest.approx(2.0 * np.pi * 118.5, rel=0.02)


def test_what_a_lip_took_is_told_from_the_scan() -> None:
    """A lip of 12 turned square to the inside off a wall of R 120: 12 / 120, within 5 parts in 100
    for the root line lies half a bend inside the wall.
    """
    body = lipped(90.0, 12.0, 5.0)
    run = lip_run(body, found_on(body)[0], Stationing(pitch_mm=60.0))
    shrunk = np.array([station.stretch - 1.0 for station in run.stations])
    assert shrunk == pytest.approx(-12.0 / 120.0, rel=0.05)
    assert {station.case for station in run.stations} == {"lip off a wall"}


def test_the_search_tells_how_far_it_is_and_can_be_stopped() -> None:
    body = lipped(90.0, 12.0, 5.0)
    told: list[float] = []
    lips_along(body, rims(body)[lower(body)], report=lambda done, stage: told.append(done))
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 20

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        lips_along(body, rims(body)[lower(body)], report=stop)


# ---- the shipped sample, whose edge is curled in on R 5, 10 mm from the wall


@cache
def sample() -> StoodTank:
    state = carried_through(open_job(sample_data.job_path()), "Surface")
    return stood_step(made(state, "Surface"), made(state, "Datum"), state.directions, report=silent)


def in_sample(points: FloatArray) -> FloatArray:
    return np.asarray(from_file(sample().axes.from_tank(points) / MM_PER_INCH))


@pytest.mark.slow
def test_the_samples_curled_edge_is_found() -> None:
    """Held against the formula it was made from: where half of wall and bottom's turn is turned.

    Away from the two rear ends, where it runs out: root within 0.6 mm along the skin nearly all
    over and 2 mm at a ragged place of the rim, turn within 2 degrees of the formula's on the
    middle and 7 nearly all over (the wall bends beside it), width within 0.8 mm of 10 / sin(turn).
    """
    tank = sample()
    lips = lips_along(tank.outside, rims(tank.outside)[0], noise_mm=0.03)
    assert len(lips) == 1
    lip = lips[0]
    root = in_sample(lip.root)
    assert lip.length_mm == pytest.approx(1120.0, abs=15.0)
    whole = root[:, 0] > 110.0
    assert whole.sum() > 0.85 * len(root)
    on_skin = shape.on_skin(root[whole])
    assert np.linalg.norm(on_skin - root[whole], axis=1).max() < 0.3
    wall, bottom = shape.wall_sheet(on_skin), shape._bottom_sheet(on_skin)
    turn = np.arccos((wall.normal * bottom.normal).sum(axis=1))
    turned = np.arccos((shape.skin(on_skin).normal * wall.normal).sum(axis=1).clip(-1.0, 1.0))
    off = np.abs(turned - turn / 2.0) * shape.CURL_RADIUS
    assert np.percentile(off, 95) < 0.6
    assert off.max() < 2.0
    off_turn = np.abs(np.degrees(lip.turn_rad[whole] - turn))
    assert np.median(off_turn) < 2.0
    assert np.percentile(off_turn, 95) < 7.0
    width = shape.RETURN_WIDTH / np.sin(turn)
    assert np.percentile(np.abs(lip.width_mm[whole] - width), 95) < 0.8
    assert np.median(lip.radius_mm) == pytest.approx(shape.CURL_RADIUS, abs=1.0)


@pytest.mark.slow
def test_what_the_samples_lip_took_is_that_of_the_formula() -> None:
    """Round the nose the formula's own rim, from abreast of one station to abreast of the next but
    one, over the root line between them: within a part in 100 of the root.
    """
    tank = sample()
    lip = lips_along(tank.outside, rims(tank.outside)[0], noise_mm=0.03)[0]
    run = lip_run(tank.outside, lip, Stationing(20.0, True, 0.03, 3.0))
    rim = bottom_rim(0.5)
    along = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(rim, axis=0), axis=1)))
    for hand in ("left", "right"):
        stations = run.of_hand(hand)[:9]
        tips = in_sample(np.array([station.tip for station in stations]))
        at = along[cKDTree(rim).query(tips)[1]]
        stretch = np.array([station.stretch for station in stations])
        gain = np.array([station.per_root for station in stations])
        told = stretch * gain / (stretch - 1.0)  # finished, for each length of root
        between = (told[:-2] + 4.0 * told[1:-1] + told[2:]) / 6.0
        way = np.abs(at[2:] - at[:-2])
        way = np.minimum(way, along[-1] - way)
        assert between == pytest.approx(way / 40.0, abs=0.01)
        assert told[0] < 0.88

"""Left against right on bodies whose difference is known by formula."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.datum import CentrePlane, Datum, NothingFacesError, left_right
from geometry.datum.left_right import NO_BAND
from geometry.mesh import TriMesh, part_of_mesh
from geometry.progress import Cancelled
from tests.tanks import Dent, Tank, tank

TAPER = 0.004


def upright() -> Datum:
    plane = CentrePlane(np.zeros(3), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    return Datum(plane, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), np.zeros(3))


def datum_of_tank(body: Tank) -> Datum:
    point, origin = body.to_file(np.array([[300.0, 0.0, 100.0], [0.0, 0.0, 0.0]]))
    return Datum(CentrePlane(point, body.left, 0.0, 0.0), body.up, body.front, origin)


def cover(spacing_mm: float, *, noise_mm: float = 0.0, seed: int = 1) -> TriMesh:
    """Return a cover round past its widest, R 60, 240 long, fuller on the left by TAPER x."""
    rng = np.random.default_rng(seed)
    along = np.arange(0.0, 240.0 + spacing_mm, spacing_mm)
    around = np.linspace(-0.6 * np.pi, 0.6 * np.pi, round(72 * np.pi / spacing_mm))
    x, angle = (axis.ravel().copy() for axis in np.meshgrid(along, around, indexing="ij"))
    x[1:-1] += rng.uniform(-0.3, 0.3, len(x) - 2) * spacing_mm
    inside = np.abs(angle) < 0.6 * np.pi - 1e-9
    angle[inside] += rng.uniform(-0.3, 0.3, int(inside.sum())) * spacing_mm / 60.0
    radius = 60.0 + TAPER * np.maximum(x, 0.0) * (angle > 0) * np.sin(angle) ** 2
    radius += noise_mm * rng.standard_normal(len(x))
    places = np.stack([x, radius * np.sin(angle), radius * np.cos(angle)], axis=1)
    corner = np.arange(len(x)).reshape(len(along), len(around))
    a, b, c, d = (
        q.ravel() for q in (corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:])
    )
    return TriMesh(places, np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)]))


def true_difference(places: FloatArray) -> FloatArray:
    """Return TAPER x station x sin^2 of the angle from the top, with the hand's sign.

    Radially, which the normal of so slight a taper follows to 1e-4 of the difference.
    """
    sine = places[:, 1] / np.hypot(places[:, 1], places[:, 2])
    return np.asarray(TAPER * np.maximum(places[:, 0], 0.0) * sine**2 * np.sign(sine))


@pytest.mark.parametrize(("noise_mm", "within_mm"), [(0.0, 0.01), (0.05, 0.1)])
def test_a_known_taper_is_found_everywhere(noise_mm: float, within_mm: float) -> None:
    """0.01 mm is what chords of 3 mm on R 60 leave (3^2 / (8 x 60) = 0.02), halved on average."""
    mesh = cover(3.0, noise_mm=noise_mm)
    found = left_right(mesh, upright())
    known = np.isfinite(found.difference)
    off = (found.difference - true_difference(mesh.vertices))[known]
    assert known.mean() > 0.97
    assert np.sqrt(np.mean(off**2)) < within_mm / 2
    assert np.quantile(np.abs(off), 0.995) < within_mm
    assert found.fuller == "left"


def test_stations_give_widths_and_the_taper() -> None:
    found = left_right(cover(3.0), upright(), stations=60.0)
    at = {round(station.station_mm): station for station in found.stations}
    assert sorted(at) == [0, 60, 120, 180, 240]
    for where in (60, 120, 180):
        assert at[where].left_width == pytest.approx(60.0 + TAPER * where, abs=0.03)
        assert at[where].right_width == pytest.approx(60.0, abs=0.03)
        assert at[where].largest == pytest.approx(TAPER * (where + 30), abs=0.05)


def test_a_dent_is_found_on_its_own_hand_in_any_pose() -> None:
    dent = Dent()
    body = tank(3.0, noise_mm=0.05, dents=[dent], turned=True, seed=5)
    found = left_right(body.mesh, datum_of_tank(body))
    own = body.from_file(body.mesh.vertices.copy())
    truth = dent.depth_at(own * [1, -1, 1]) - dent.depth_at(own)
    known = np.isfinite(found.difference)
    off = (found.difference - truth)[known]
    assert known.mean() > 0.99
    assert np.sqrt(np.mean(off**2)) < 0.04
    assert np.quantile(np.abs(off), 0.99) < 0.1
    assert found.largest == pytest.approx(dent.depth, abs=0.25)
    assert (found.largest_on, found.further_out, found.fuller) == ("right", "left", "alike")
    assert np.linalg.norm(body.from_file(found.largest_at[None])[0] - dent.centre()) < 8.0


def test_the_answer_moves_with_the_tank() -> None:
    mesh = cover(4.0, noise_mm=0.05)
    turn, shift = Rotation.random(random_state=2), np.array([300.0, -80.0, 45.0])
    moved = TriMesh(turn.apply(mesh.vertices.copy()) + shift, mesh.faces)
    datum = Datum(
        CentrePlane(shift, turn.apply([0.0, 1.0, 0.0]), 0.0, 0.0),
        turn.apply([0.0, 0.0, 1.0]),
        turn.apply([1.0, 0.0, 0.0]),
        shift,
    )
    still, after = left_right(mesh, upright()), left_right(moved, datum)
    assert np.allclose(still.difference, after.difference, atol=1e-6, equal_nan=True)
    assert np.allclose(turn.apply(still.largest_at.copy()) + shift, after.largest_at, atol=1e-6)


def test_another_triangulation_gives_the_same_differences() -> None:
    coarse, fine = cover(4.0), cover(2.0, seed=2)
    over_all = [left_right(mesh, upright()).left_over_right_mm for mesh in (coarse, fine)]
    assert over_all[0] == pytest.approx(over_all[1], abs=0.005)


def test_nothing_faces_a_place_whose_like_is_not_scanned() -> None:
    mesh = cover(3.0)
    hole = np.array([120.0, -60.0 * np.sin(1.0), 60.0 * np.cos(1.0)])
    away = np.linalg.norm(mesh.vertices - hole, axis=1)
    holed, _ = part_of_mesh(mesh, np.flatnonzero((away > 20.0)[mesh.faces].all(axis=1)))
    found = left_right(holed, upright())
    off = np.linalg.norm(holed.vertices * [1, -1, 1] - hole, axis=1)
    assert np.isnan(found.difference[off < 12.0]).all()
    clear = (
        (off > 32.0) & (np.abs(holed.vertices[:, 0] - 120.0) < 60.0) & (holed.vertices[:, 2] > 9)
    )
    assert np.isfinite(found.difference[clear & (holed.vertices[:, 1] > 0)]).all()
    assert (found.bands(0.5)[off < 12.0] == NO_BAND).all()


def test_the_two_hands_say_the_opposite() -> None:
    mesh = cover(3.0)
    swapped = TriMesh(mesh.vertices * [1, -1, 1], mesh.faces[:, ::-1])
    one, other = left_right(mesh, upright()), left_right(swapped, upright())
    assert np.nanmax(np.abs(one.difference - other.difference)) < 1e-6  # it stays with the metal
    assert one.left_over_right_mm == pytest.approx(-other.left_over_right_mm, abs=1e-9)


def test_a_plane_off_the_tank_is_refused() -> None:
    mesh = cover(4.0)
    plane = CentrePlane(np.array([0.0, 200.0, 0.0]), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    datum = Datum(plane, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), plane.point)
    with pytest.raises(NothingFacesError) as caught:
        left_right(mesh, datum)
    assert (caught.value.left_share, caught.value.right_share) == (0.0, 1.0)


def test_it_tells_how_far_it_is_and_stops_when_asked() -> None:
    mesh = cover(4.0)
    told: list[float] = []
    left_right(mesh, upright(), report=lambda done, stage: told.append(done))
    assert told == sorted(told)
    assert len(told) > 4
    assert told[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        left_right(mesh, upright(), report=stop)

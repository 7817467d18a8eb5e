"""The seat face: a plate of known plane and edge, the sample against what it was made from."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from geometry.gauges.seat import (
    NoSeatFaceError,
    NoSeatLineError,
    SeatFace,
    seat_against,
    seat_face,
    seat_line,
    template_over,
)
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.scan import read_scan, scaled, sound_mesh
from sample_data import scan_path, truth
from tests import bodies
from tests.geometry.surface.flats.trays import FLAT_RADIUS, tray

LEAN = np.radians(18.0)
TURN = Rotation.from_euler("y", -(np.pi / 2.0 - LEAN)).as_matrix()
PLACE = np.array([20.0, 0.0, 90.0])
SCANS = Path(__file__).resolve().parents[3].parent / "shared" / "data"


def leaning(plate: TriMesh) -> TriMesh:
    """Stand a tray so that it faces the rear, its top leaning ahead by 18 degrees."""
    return TriMesh(plate.vertices @ TURN.T + PLACE, plate.faces)


@cache
def found() -> SeatFace:
    return seat_face(leaning(tray(1.2, noise_mm=0.05)))


@cache
def sample_skin() -> TriMesh:
    scan = sound_mesh(read_scan(scan_path())).mesh
    return TriMesh(truth.from_file(scan.vertices), scan.faces)


@cache
def sample_seat() -> SeatFace:
    return seat_face(sample_skin())


def test_the_plane_is_found_where_it_is_and_leans_as_it_does() -> None:
    plane = found().plane
    assert plane.lean_rad == pytest.approx(LEAN, abs=np.radians(0.05))
    assert plane.normal[0] < 0.0
    assert abs(plane.out(PLACE[None])[0]) < 0.03


@pytest.mark.parametrize("edge_radius", [1.2, 4.0])
def test_the_corner_is_where_wall_and_plane_would_meet(edge_radius: float) -> None:
    """Flat to 45, then 1.3 rad round: they meet radius * tan(1.3 / 2) farther out."""
    plane = seat_face(leaning(tray(edge_radius, noise_mm=0.05))).plane
    wanted = FLAT_RADIUS + edge_radius * np.tan(0.65)
    radius = np.linalg.norm(plane.corner - PLACE, axis=1)
    assert radius == pytest.approx(np.full(len(radius), wanted), abs=0.2)


def test_the_edge_is_where_the_flat_ends() -> None:
    """Seen through noise of 0.05: 0.9 past the edge the skin has dropped by 0.3 only."""
    radius = np.linalg.norm(found().plane.edge - PLACE, axis=1)
    assert radius == pytest.approx(np.full(len(radius), FLAT_RADIUS), abs=0.9)


def test_right_and_up_are_those_of_a_man_behind_the_tank() -> None:
    right, up = found().plane.ways
    assert right == pytest.approx([0.0, -1.0, 0.0], abs=2e-3)
    assert up[2] == pytest.approx(np.cos(LEAN), abs=1e-3)
    assert np.cross(right, up) == pytest.approx(found().plane.normal, abs=1e-9)


def test_places_of_the_face_come_back_and_the_centre_has_no_right() -> None:
    plane = found().plane
    flat = np.array([[3.0, 4.0], [-20.0, 9.0]])
    assert plane.flat(plane.in_space(flat)) == pytest.approx(flat, abs=1e-9)
    assert plane.in_space(np.array([[0.0, 30.0]]))[0, 1] == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("warp", [0.0, 0.4])
def test_flatness_is_told_to_a_tenth(warp: float) -> None:
    face = seat_face(leaning(tray(1.2, noise_mm=0.03, warp_mm=warp)))
    assert face.flatness_mm == pytest.approx(warp, abs=0.1)
    middle = np.linalg.norm(face.middles - PLACE, axis=1) < 8.0
    rim = np.linalg.norm(face.middles - PLACE, axis=1) > 36.0
    rise = face.off_mm[middle].mean() - face.off_mm[rim].mean()
    assert rise == pytest.approx(0.8 * warp, abs=0.1)


def test_a_face_held_stays_and_what_moved_off_it_is_told() -> None:
    """Moved out by 0.7 and tilted by half a degree about its middle."""
    held = found().plane
    tilt = Rotation.from_euler("y", np.radians(0.5)).as_matrix()
    skin = leaning(tray(1.2, noise_mm=0.05))
    moved = TriMesh((skin.vertices - PLACE) @ tilt.T + PLACE + 0.7 * held.normal, skin.faces)
    face, change = seat_against(moved, held)
    assert face.plane is held
    assert change.out_mm == pytest.approx(0.7, abs=0.05)
    assert change.tilt_rad == pytest.approx(np.radians(0.5), abs=np.radians(0.05))
    assert face.off_mm.max() == pytest.approx(0.7 + FLAT_RADIUS * np.sin(np.radians(0.5)), abs=0.15)
    assert change.edge_mm < 0.15


def test_an_edge_moved_along_the_face_is_told() -> None:
    held = found().plane
    skin = leaning(tray(1.2, noise_mm=0.05))
    moved = TriMesh(skin.vertices + 1.5 * held.ways[1], skin.faces)
    assert seat_against(moved, held)[1].edge_mm == pytest.approx(1.5, abs=0.15)


def test_a_skin_that_did_not_change_is_where_it_was_held() -> None:
    change = seat_against(leaning(tray(1.2, noise_mm=0.05)), found().plane)[1]
    assert change.out_mm == pytest.approx(0.0, abs=1e-9)
    assert change.edge_mm < 1e-9


def test_the_sample_has_its_seat_where_it_was_made() -> None:
    """18 degrees, flat but for what the scan's passes leave; the edge radius is 1.2."""
    plane = sample_seat().plane
    assert np.degrees(np.arccos(plane.normal @ truth.SEAT_NORMAL)) < 0.05
    assert plane.lean_rad == pytest.approx(np.radians(18.0), abs=np.radians(0.05))
    assert abs((plane.point - truth.SEAT_POINT) @ truth.SEAT_NORMAL) < 0.1
    assert sample_seat().flatness_mm < 0.15


def test_the_samples_corner_is_its_edge_as_if_not_rounded() -> None:
    """All round but at the tank's foot, where the face is cut off and has no wall."""
    corner = sample_seat().plane.corner
    upper = corner[corner[:, 2] > truth.seat_edge(400)[:, 2].min() + 12.0]
    off = np.asarray(cKDTree(truth.seat_edge(8000)).query(upper)[0])
    assert len(upper) > 100
    assert np.median(off) < 0.1
    assert np.quantile(off, 0.95) < 0.2


def test_the_seat_line_is_the_samples_skin_to_two_tenths() -> None:
    """Of the raw scan, whose own noise and slow waves are in it."""
    plane = sample_seat().plane
    line = seat_line(sample_skin(), plane, 4.0)
    places = plane.in_space(line) - 4.0 * plane.normal
    off = np.abs(truth.distance_to_tank(places))
    assert np.quantile(off, 0.99) < 0.2
    assert line[0, 0] > 0.0 > line[-1, 0]
    assert line[:, 1].max() > line[[0, -1], 1].max() + 90.0


def test_a_line_off_the_tank_is_refused() -> None:
    with pytest.raises(NoSeatLineError) as caught:
        seat_line(leaning(tray(1.2)), found().plane, 300.0)
    assert caught.value.ahead_mm == 300.0


def test_a_template_follows_the_line_and_is_as_deep_everywhere() -> None:
    """Over a half round of radius 50, 20 deep: a ring between 50 and 70."""
    angle = np.linspace(0.0, np.pi, 90)
    line = 50.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    outline = template_over(line, 20.0)
    assert (outline[: len(line)] == line).all()
    outer = np.linalg.norm(outline[len(line) :], axis=1)
    assert outer == pytest.approx(np.full(len(outer), 70.0), abs=0.05)
    x, y = outline.T
    area = abs((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2.0
    assert area == pytest.approx(np.pi / 2.0 * (70.0**2 - 50.0**2), rel=2e-3)


def test_a_ball_has_no_seat_face() -> None:
    with pytest.raises(NoSeatFaceError) as caught:
        seat_face(bodies.dome(120.0, np.radians(60.0), 40))
    assert caught.value.reason == "none"


def test_a_face_too_small_to_carry_a_seat_is_none() -> None:
    """A plate of which only 6 mm are left is no flat face."""
    plate = leaning(tray(1.2))
    near = np.linalg.norm(plate.vertices - PLACE, axis=1) < 6.0
    kept = plate.faces[near[plate.faces].all(axis=1)]
    used, index = np.unique(kept, return_inverse=True)
    with pytest.raises(NoSeatFaceError):
        seat_face(TriMesh(plate.vertices[used], index.reshape(-1, 3)))


def test_a_flat_that_faces_the_sky_is_found_only_where_it_is_named() -> None:
    plate = tray(1.2)
    with pytest.raises(NoSeatFaceError) as caught:
        seat_face(plate)
    assert (caught.value.reason, caught.value.found) == ("none behind", 1)
    assert seat_face(plate, near=np.zeros(3)).plane.normal[2] > 0.99
    with pytest.raises(NoSeatFaceError) as caught:
        seat_face(plate, near=np.array([0.0, 0.0, 200.0]))
    assert caught.value.reason == "none near"
    assert caught.value.distance_mm == pytest.approx(200.0, abs=1.0)


def test_a_real_scan_without_a_flat_face_gives_none() -> None:
    """A panel rolled to 1.74 m, scanned by others, is no seat face however large it is."""
    path = SCANS / "shallow_panel_scan_m.ply"
    if not path.exists():
        pytest.skip("the real scans are not here")
    panel = scaled(sound_mesh(read_scan(path)).mesh, 1000.0)
    with pytest.raises(NoSeatFaceError):
        seat_face(panel, near=panel.vertices.mean(axis=0))


def test_progress_rises_and_stops_when_asked() -> None:
    seen: list[float] = []
    seat_face(leaning(tray(3.0, spacing=2.0)), report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)

    def stop(done: float, stage: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        seat_face(leaning(tray(3.0, spacing=2.0)), report=stop)

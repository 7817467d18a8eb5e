"""Roll lines and folds."""

import itertools

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, flatten
from geometry.mesh import TriMesh, face_normals
from geometry.pattern import RollLine, roll_lines
from geometry.progress import Cancelled
from tests.bodies import (
    cone_sheet,
    cylinder_sheet,
    dome,
    folded_tray,
    hyperbolic_saddle,
    mesh_of,
    patch,
    tangent_sheet,
    tank_top,
    torus_patch,
)


def turned_over(mesh: TriMesh) -> TriMesh:
    """Return a sheet with its other face outside."""
    return TriMesh(mesh.vertices, mesh.faces[:, ::-1])


def bent_profile(arc: FloatArray, curvature: FloatArray, width: float, rows: int) -> TriMesh:
    """Return the sheet whose profile has a curvature at each arc length; above 0 hollow on top."""
    turn = np.concatenate([[0.0], np.cumsum(np.diff(arc) * (curvature[1:] + curvature[:-1]) / 2)])
    middle = (turn[1:] + turn[:-1]) / 2.0
    x = np.concatenate([[0.0], np.cumsum(np.diff(arc) * np.cos(middle))])
    z = np.concatenate([[0.0], np.cumsum(np.diff(arc) * np.sin(middle))])
    xs, ys = np.meshgrid(x, np.linspace(0.0, width, rows), indexing="ij")
    return patch(xs, ys, np.broadcast_to(z[:, None], xs.shape))


def open_cornered_pan(base: float, wall: float, cells: int) -> TriMesh:
    """Return a square pan with its four walls up and its corners cut out."""
    step = base / cells
    walls = round(wall / step)
    number: dict[tuple[int, int], int] = {}
    places: list[list[float]] = []

    def at(i: int, j: int) -> int:
        u, v = (i - walls) * step, (j - walls) * step
        up = max(0.0, -u, u - base, -v, v - base)
        if (i, j) not in number:
            number[i, j] = len(places)
            places.append([min(max(u, 0.0), base), min(max(v, 0.0), base), up])
        return number[i, j]

    faces: list[tuple[int, int, int]] = []
    outer = set(range(walls)) | set(range(cells + walls, cells + 2 * walls))
    for i, j in itertools.product(range(cells + 2 * walls), repeat=2):
        if not (i in outer and j in outer):
            a, b, c, d = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
            faces += [(a, b, c), (a, c, d)] if (i + j) % 2 == 0 else [(a, b, d), (b, c, d)]
    return mesh_of(places, faces)


def curved_crease(slope: float) -> TriMesh:
    """Return a rolled sheet R 100, 120 round and 160 long, mirrored in a plane across its middle.

    The plane leans by `slope`; the crease it makes is a curve on the panel and on the blank.
    """
    s, w = np.meshgrid(np.linspace(-60.0, 60.0, 41), np.linspace(-80.0, 80.0, 51), indexing="ij")
    y, z = 100.0 * np.sin(s / 100.0), 100.0 * np.cos(s / 100.0)
    places = np.stack([slope * (z - 100.0) + w, y, z], axis=-1)
    normal = np.array([1.0, 0.0, -slope]) / np.hypot(1.0, slope)
    over = (places - [0.0, 0.0, 100.0]) @ normal
    places -= 2.0 * np.where(w > 0.0, over, 0.0)[..., None] * normal
    return patch(*places.transpose(2, 0, 1))


def directions(lines: tuple[RollLine, ...]) -> FloatArray:
    """Return the (k, 3) unit ways of lines on the formed panel, end to end."""
    ways = np.array([line.formed[-1] - line.formed[0] for line in lines])
    return np.asarray(ways / np.linalg.norm(ways, axis=1)[:, None])


@pytest.fixture(scope="module")
def cone() -> FlatPanel:
    return flatten(cone_sheet(100.0, 60.0, 120.0, np.pi, (100, 40)))


@pytest.mark.parametrize("radius", [30.0, 100.0, 300.0])
def test_a_cylinder_is_rolled_along_its_axis_to_its_radius(radius: float) -> None:
    """Lines parallel to the axis and its full length; radius within 1 %, above rather than below.

    A fit over a third of a radian reads cos as a parabola: below 1 % too flat.
    """
    angle = min(np.pi, 150.0 / radius)
    flat = flatten(cylinder_sheet(radius, angle, 150.0, 60, 50))
    lines = roll_lines(flat)
    assert len(lines) == round(np.degrees(angle) / 12.0)
    assert np.abs(directions(lines)[:, 0]) == pytest.approx(np.ones(len(lines)), abs=1e-6)
    for line in lines:
        assert line.radii / radius == pytest.approx(np.full(len(line.radii), 1.005), abs=0.0051)
        assert np.linalg.norm(line.formed[-1] - line.formed[0]) == pytest.approx(150.0, abs=1e-6)
        assert not line.is_fold


def test_the_lines_stand_for_equal_turns_that_make_up_the_whole() -> None:
    """A half-round turns by 180 degrees; of n facets the middles of the outer ones count: less one.

    Neighbouring lines are as far apart on the blank as one of their turns is round R 100.
    """
    around = 90
    flat = flatten(cylinder_sheet(100.0, np.pi, 120.0, around, 40))
    lines = roll_lines(flat)
    total = sum(line.turn_rad for line in lines)
    assert total == pytest.approx(np.pi, rel=0.01)
    place = np.sort([line.points[:, 0].mean() for line in lines])
    side = np.sort([line.points[:, 1].mean() for line in lines])
    apart = np.diff(place if np.ptp(place) > np.ptp(side) else side)
    assert apart == pytest.approx(np.full(len(apart), 100.0 * lines[0].turn_rad), rel=0.01)


def test_a_finer_turn_asks_for_more_lines(cone: FlatPanel) -> None:
    """The half cone turns by pi cos(apex angle): 170.8 degrees."""
    for degrees in (8.0, 12.0, 20.0):
        lines = roll_lines(cone, turn_rad=float(np.radians(degrees)))
        assert len(lines) == round(170.76 / degrees)


def test_a_cones_lines_run_through_its_apex(cone: FlatPanel) -> None:
    """Base 100 to 60 over 120: the apex is 300 above the base; each line misses it by an angle.

    Half a degree is less than a facet's width seen from the apex, 0.57 degrees.
    """
    lines = roll_lines(cone)
    apex = np.array([0.0, 0.0, 300.0])
    for line, way in zip(lines, directions(lines), strict=True):
        middle = line.formed.mean(axis=0)
        off = np.linalg.norm(np.cross(apex - middle, way)) / np.linalg.norm(apex - middle)
        assert off < np.radians(0.5)


def test_a_cones_radius_is_proportional_to_the_distance_from_its_apex(cone: FlatPanel) -> None:
    """Across a generator R = slant distance times tan(half apex angle) = distance / 3, to 1 %."""
    apex = np.array([0.0, 0.0, 300.0])
    for line in roll_lines(cone):
        slant = np.linalg.norm(line.formed - apex, axis=1)
        assert line.radii == pytest.approx(slant / 3.0, rel=0.01)


def test_lines_of_a_helix_tangents_are_those_tangents() -> None:
    """Sheet of tangents of a helix, 30 to 105 along each: its rulings are the tangents.

    They lay out to the tangents of a circle of radius (a^2 + b^2) / a = 106.25, and R = v a / b,
    v along the tangent: 4 v. The evened fit takes off the sharper end, hence a tenth there.
    """
    flat = flatten(tangent_sheet(100.0, 25.0, 2.0, (30.0, 105.0), (144, 48)))
    lines = roll_lines(flat)
    assert len(lines) == 2
    for line, way in zip(lines, directions(lines), strict=True):
        middle = line.formed[len(line.formed) // 2]
        slope = way[2] / np.hypot(way[0], way[1])
        assert abs(slope) == pytest.approx(0.25, abs=0.02)  # rise over run of every tangent
        v = np.sqrt(middle[0] ** 2 + middle[1] ** 2 - 100.0**2) * np.hypot(1.0, 0.25)
        assert line.radii[len(line.radii) // 2] == pytest.approx(4.0 * v, rel=0.05)


@pytest.mark.parametrize("cells", [8, 12, 40])
def test_a_tray_is_folded_not_rolled(cells: int) -> None:
    """Base 120, walls 40: two folds 60 from the middle, up by a right angle, sharp."""
    flat = flatten(folded_tray(120.0, 40.0, cells))
    lines = roll_lines(flat)
    assert [line.is_fold for line in lines] == [True, True]
    for line in lines:
        assert line.turn_rad == pytest.approx(np.pi / 2.0, abs=1e-9)
        assert line.radii == pytest.approx(np.zeros(len(line.radii)), abs=1e-9)
        assert np.abs(line.formed[:, 0]) == pytest.approx(np.full(len(line.points), 60.0), abs=1e-6)
        assert line.formed[:, 2] == pytest.approx(np.zeros(len(line.points)), abs=1e-6)
        assert np.ptp(line.formed[:, 1]) == pytest.approx(120.0, abs=1e-6)


def test_a_pans_folds_end_at_its_corners() -> None:
    lines = roll_lines(flatten(open_cornered_pan(120.0, 30.0, 24)))
    assert len(lines) == 4
    for line in lines:
        assert line.is_fold
        assert np.linalg.norm(line.points[-1] - line.points[0]) == pytest.approx(120.0, abs=1e-6)
        assert line.turn_rad == pytest.approx(np.pi / 2.0, abs=1e-9)


@pytest.mark.parametrize("slope", [0.5, 1.0, 2.0])
def test_a_crease_may_curve_between_two_rolled_sheets(slope: float) -> None:
    """Half angle between the sheets at s round: asin(slope cos(s / R) / hypot(1, slope)); the fold
    has the mean along it, within half a degree, and lies on the mirror within half a triangle.
    """
    lines = roll_lines(flatten(curved_crease(slope)))
    fold, *rolled = lines
    s = np.linspace(-0.6, 0.6, 2001)
    between = np.arcsin(slope * np.cos(s) / np.hypot(1.0, slope))
    arc = np.hypot(1.0, slope * np.sin(s))  # of the crease, by the turn round the cylinder
    mean = float((arc * (np.pi - 2.0 * between)).sum() / arc.sum())
    assert fold.is_fold
    assert fold.turn_rad == pytest.approx(mean, abs=np.radians(0.5))
    off = fold.formed @ [1.0, 0.0, -slope] + 100.0 * slope
    assert np.abs(off / np.hypot(1.0, slope)).max() < 1.6
    assert len(rolled) == 12
    for line in rolled:
        assert line.radii == pytest.approx(np.full(len(line.radii), 100.0), rel=0.01)


def test_up_and_down_are_told_from_the_outside() -> None:
    """A tray's walls stand towards its outside; the same tray seen from below the other way."""
    tray = folded_tray(120.0, 40.0, 12)
    up = face_normals(tray.vertices, tray.faces)[:, 2].max() > 0.5
    assert all(line.towards_outside == up for line in roll_lines(flatten(tray)))
    other = roll_lines(flatten(turned_over(tray)))
    assert [line.towards_outside for line in other] == [not up, not up]


def test_a_crown_and_a_hollow_are_told_apart() -> None:
    """Crowned R 80 over 120, flat over 80, hollow R 120 over 120: 86 and 57 degrees."""
    arc = np.linspace(0.0, 320.0, 161)
    curvature = np.where(arc < 120.0, -1.0 / 80.0, np.where(arc < 200.0, 0.0, 1.0 / 120.0))
    sheet = bent_profile(arc, curvature, 150.0, 50)
    assert face_normals(sheet.vertices, sheet.faces)[0, 2] > 0.0
    lines = roll_lines(flatten(sheet))
    crowned = [line for line in lines if not line.towards_outside]
    hollow = [line for line in lines if line.towards_outside]
    assert (len(crowned), len(hollow)) == (7, 5)
    for found, radius in ((crowned, 80.0), (hollow, 120.0)):
        middle = sorted(float(line.radii.mean()) for line in found)[len(found) // 2]
        assert middle == pytest.approx(radius, rel=0.01)


@pytest.mark.parametrize(
    "mesh",
    [
        dome(300.0, 0.5, 24),
        dome(100.0, 0.9, 24),
        hyperbolic_saddle(200.0, 0.5, 24),
        torus_patch(300.0, 100.0, 0.8, (-0.7, 0.7), (60, 40)),
        tank_top(30),
    ],
    ids=["dome", "deep dome", "saddle", "torus", "tank top"],
)
def test_a_panel_shaped_both_ways_has_none(mesh: TriMesh) -> None:
    assert roll_lines(flatten(mesh)) == ()


def test_a_top_that_is_hardly_crowned_is_rolled_to_its_profile() -> None:
    """Height -(x^2 / 20000 + y^2 / 240): across, a parabola, of radius 120 / cos^3 of its slope.

    The lines stand at slopes of whole turns either side of the ridge.
    """
    x, y = np.meshgrid(np.linspace(-200, 200, 101), np.linspace(-70, 70, 36), indexing="ij")
    lines = roll_lines(flatten(patch(x, y, -(x**2 / 20000.0 + y**2 / 240.0))))
    assert len(lines) == 5
    for line in lines:
        slope = np.arctan(line.formed[:, 1].mean() / 120.0)
        assert line.radii == pytest.approx(
            np.full(len(line.radii), 120.0 / np.cos(slope) ** 3), rel=0.015
        )
        nearest_turn = line.turn_rad * round(slope / line.turn_rad)
        assert slope == pytest.approx(nearest_turn, abs=np.radians(0.5))
        assert np.ptp(line.formed[:, 0]) == pytest.approx(400.0, abs=2.0)


def test_a_flat_panel_has_none() -> None:
    assert roll_lines(flatten(cylinder_sheet(1e6, 3e-4, 150.0, 30, 15))) == ()


def test_a_guessed_patch_does_not_bend_the_lines_through_it() -> None:
    """A filled hole 50 across that bulges 3 mm out of a half-round: no line moves or changes."""
    mesh = cylinder_sheet(100.0, np.pi, 150.0, 90, 44)
    middle = np.hypot(mesh.vertices[:, 0] - 75.0, mesh.vertices[:, 1])
    inside = (middle < 25.0) & (mesh.vertices[:, 2] > 0.0)
    out = mesh.vertices.copy()
    swell = np.cos(np.pi * middle / 50.0) ** 2
    out[inside, 1:] *= 1.0 + 0.03 * swell[inside, None]
    plain = flatten(mesh)
    filled = (middle[mesh.faces] < 25.0).all(axis=1) & (mesh.vertices[mesh.faces, 2] > 0).all(1)

    class Bulged:
        """The bulge on the plain sheet's blank: a guess that does not show in the lengths."""

        vertices, faces, rim = out, plain.faces, plain.rim
        flat_vertices, stretches = plain.flat_vertices, plain.stretches

    lines, expected = roll_lines(Bulged(), filled=filled), roll_lines(plain)
    assert len(lines) == len(expected)
    for line, other in zip(lines, expected, strict=True):
        assert line.radii == pytest.approx(np.full(len(line.radii), 100.0), rel=0.01)
        assert line.points.mean(axis=0) == pytest.approx(other.points.mean(axis=0), abs=0.2)


def test_lines_turn_and_move_with_the_panel(cone: FlatPanel) -> None:
    angle = 0.7
    turn = np.array(
        [[np.cos(angle), 0, np.sin(angle)], [0, 1, 0], [-np.sin(angle), 0, np.cos(angle)]]
    )

    class Moved:
        """The same blank of the same panel elsewhere."""

        vertices, faces, rim = cone.vertices @ turn.T + 50.0, cone.faces, cone.rim
        flat_vertices, stretches = cone.flat_vertices, cone.stretches

    for line, other in zip(roll_lines(Moved()), roll_lines(cone), strict=True):
        assert line.points == pytest.approx(other.points, abs=1e-6)
        assert line.radii == pytest.approx(other.radii, rel=1e-6)
        assert line.formed == pytest.approx(other.formed @ turn.T + 50.0, abs=1e-6)


def test_progress_rises_and_can_be_stopped(cone: FlatPanel) -> None:
    seen: list[float] = []
    roll_lines(cone, report=lambda done, _: seen.append(done))
    assert len(seen) >= 4
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        roll_lines(cone, report=stop)

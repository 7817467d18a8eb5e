"""The tape table on bodies whose lengths are known: a box, an ellipsoid, a waisted bar, a tube.

Nothing here is stored: edges and diagonals of a box, the perimeter of an ellipse (scipy's complete
elliptic integral), the string round two cylinders, the arc of a quarter circle.
"""

from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation
from scipy.special import ellipe

from geometry.arrays import FloatArray
from geometry.datum import Allowance
from geometry.gauges import TapeTable, tank_axes, tape_table
from geometry.gauges.faults import fault_moves, line_faults, set_out_faults
from geometry.gauges.feature_curves import raggedness, rim_course
from geometry.gauges.girths import girth_values
from geometry.gauges.held_tapes import edge_values, held_values
from geometry.gauges.holds import holds_of, marks_of
from geometry.gauges.spans import span_values
from geometry.gauges.tape_value import limit_for
from geometry.gauges.taped_skin import TapedSkin
from geometry.gauges.tight_tape import tape_over, tape_round
from geometry.mesh import TriMesh
from geometry.scan import read_scan, sound_mesh
from geometry.surface import CharacterLine, Opening

BOX = np.array([240.0, 150.0, 100.0])
SEMI_AXES = np.array([240.0, 130.0, 105.0])
AHEAD, LEFT, UP = np.eye(3)


def line(points: FloatArray, radius_mm: float = 0.5, *, closed: bool = False) -> CharacterLine:
    """Return a crisp line through points."""
    count = len(points)
    return CharacterLine(
        points, np.full(count, radius_mm), np.full(count, np.pi / 2), np.full(count, 3.0),
        "ridge", 0.99, closed,
    )  # fmt: skip


def box() -> tuple[TriMesh, list[CharacterLine]]:
    """Return a box about the origin and its twelve edges, each short of its corners by 3 mm."""
    body = trimesh.creation.box(BOX).subdivide().subdivide().subdivide()
    mesh = TriMesh(np.array(body.vertices), np.array(body.faces, np.int64))
    lines = []
    for axis in range(3):
        for signs in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            places = np.linspace(-BOX[axis] / 2 + 3.0, BOX[axis] / 2 - 3.0, 60)
            points = np.insert(np.array([signs] * 60) * 0.5, axis, 0.0, axis=1) * BOX
            points[:, axis] = places
            lines.append(line(points))
    return mesh, lines


def ellipsoid(fine: int = 4) -> TriMesh:
    body = trimesh.creation.icosphere(fine)
    return TriMesh(np.array(body.vertices) * SEMI_AXES, np.array(body.faces, np.int64))


def table_of(mesh: TriMesh, lines=(), turned: Rotation | None = None, **more) -> TapeTable:  # type: ignore[no-untyped-def]
    turn = Rotation.identity() if turned is None else turned
    moved = TriMesh(turn.apply(np.array(mesh.vertices)) + 40.0, mesh.faces)
    placed = [
        CharacterLine(
            turn.apply(each.points) + 40.0, each.radius_mm, each.opening_rad, each.height_mm,
            each.standing, each.confidence, each.is_closed,
        )
        for each in lines
    ]  # fmt: skip
    axes = tank_axes(moved, turn.apply(AHEAD), turn.apply(UP))
    return tape_table(moved, axes, lines=placed, **more)


def skin_of(mesh: TriMesh, lines=(), unsure=None, openings=()) -> TapedSkin:  # type: ignore[no-untyped-def]
    doubtful = np.zeros(len(mesh.faces), bool) if unsure is None else unsure
    return TapedSkin(mesh, doubtful, tank_axes(mesh, AHEAD, UP), lines, openings)


def perimeter(a: float, b: float) -> float:
    """Return the perimeter of an ellipse: 4 a E(1 - b^2 / a^2)."""
    a, b = max(a, b), min(a, b)
    return float(4.0 * a * ellipe(1.0 - (b / a) ** 2))


def test_a_boxs_edges_sides_and_diagonals_are_read_exactly() -> None:
    """Corners are known to the line's own end; every straight is a side or a diagonal of a box."""
    table = table_of(*box())
    assert len(table.values) == 10
    known = [
        float(np.sqrt(((BOX * use) ** 2).sum()))
        for use in np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])[1:]
    ]
    around = [2.0 * (BOX.sum() - side) for side in BOX]
    for value in table.values:
        start, end = value.line[[0, -1]]
        if value.way == "over":  # no shorter than the straight, no longer than along the edges
            assert np.linalg.norm(end - start) < value.length_mm <= np.abs(end - start).sum()
            continue
        expected = around if value.way == "round" else known
        assert min(abs(value.length_mm - each) for each in expected) < 0.05
    assert {"straight", "round"} <= {value.way for value in table.values}


def test_an_edge_from_corner_to_corner_is_as_long_as_its_side() -> None:
    """Found 3 mm short of both corners, each is drawn on to where it meets the next."""
    skin = skin_of(*box())
    edges = list(edge_values(skin, holds_of(skin), (), Allowance()))
    assert sorted(value.length_mm for value in edges) == pytest.approx(
        sorted(list(BOX[:2]) * 4), abs=1e-6
    )  # of twelve lines the eight longest are held to


def test_a_flat_sheet_gives_its_sides_and_diagonals_and_no_failure() -> None:
    """Its corners are found where its edges meet; nothing is right round it or over it."""
    corners = np.array([[0.0, 0, 0], [100, 0, 0], [0, 100, 0], [100, 100, 0]])
    flat = TriMesh(np.repeat(corners, 4, axis=0), np.array([[0, 4, 8], [4, 12, 8]]))
    for lines in ([], [line(np.linspace([20.0, 20, 0], [20.0, 90, 0], 40))]):
        values = tape_table(flat, tank_axes(flat, AHEAD, UP), lines=lines).values
        between = [v for v in values if {place.on for place in v.places} == {"corner"}]
        assert {value.way for value in values} <= {"straight", "edge"}
        sides = [100.0, 100.0 * np.sqrt(2.0)]
        for value in between:
            assert min(abs(value.length_mm - side) for side in sides) < 0.05
        assert sum(value.length_mm > 140.0 for value in between) == 2


def test_diagonals_from_corner_to_corner_are_among_what_a_box_offers() -> None:
    skin = skin_of(*box())
    values = list(held_values(skin, holds_of(skin), (), Allowance()))
    body = float(np.linalg.norm(BOX))
    found = [
        value
        for value in values
        if {place.on for place in value.places} == {"corner"}
        and value.length_mm == pytest.approx(body, abs=0.05)
    ]
    assert len(found) == 4
    assert {value.way for value in found} == {"callipers"}  # straight through the metal


def test_tapes_lie_in_all_three_directions_and_no_two_are_the_same() -> None:
    table = table_of(*box())
    assert table.shares.sum() == pytest.approx(1.0)
    assert table.shares.min() > 0.15
    ends = [tuple(np.round(v.line[[0, -1]], 0).ravel()) + (v.way,) for v in table.values]
    assert len(set(ends)) == len(ends)


def wedge(places: FloatArray) -> FloatArray:
    """Return a box's places on a body no two edges of which are alike."""
    wide = 1.0 + 0.2 * places[:, :1] / BOX[0]
    return np.asarray(places * np.hstack([wide**0, wide, wide**1.4]) + 0.05 * places[:, [1, 2, 1]])


def test_a_tank_in_any_pose_has_the_same_table() -> None:
    mesh, lines = box()
    mesh = TriMesh(wedge(np.array(mesh.vertices)), mesh.faces)
    lines = [line(wedge(each.points)) for each in lines[::2]]
    turned = table_of(mesh, lines, turned=Rotation.random(random_state=1))
    still = table_of(mesh, lines)
    assert [value.way for value in turned.values] == [value.way for value in still.values]
    assert [value.length_mm for value in turned.values] == pytest.approx(
        [value.length_mm for value in still.values], abs=1e-6
    )


def test_a_girth_of_an_ellipsoid_is_an_ellipse_and_lies_where_it_is_greatest() -> None:
    """Off the middle by x the square girth falls by sqrt(1 - (x/a)^2): only near it is it steady.

    Chords that turn by h fall short of a curve by h^2 / 24: under 1e-3 of it at these triangles.
    """
    mesh = ellipsoid()
    skin = skin_of(mesh)
    square = [
        value
        for value in girth_values(skin, Allowance())
        if value.spread[0, 0] < 1e-9  # nothing of it runs lengthwise
    ]
    assert square
    for value in square:
        off = value.places[0].tank[0] - SEMI_AXES[0]
        true = perimeter(*SEMI_AXES[1:]) * np.sqrt(1.0 - (off / SEMI_AXES[0]) ** 2)
        assert value.length_mm == pytest.approx(true, rel=1e-3)
        assert value.length_mm < true
        assert abs(off) < 40.0
        # its own account of a slip of 3 mm, from the formula, no turn counted
        slip = true * 3.0 * abs(off) / SEMI_AXES[0] ** 2
        assert value.moved_mm > 0.9 * slip
        assert value.moved_mm < value.limit_mm


def test_a_tape_keeps_off_what_was_not_scanned() -> None:
    mesh, lines = box()
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    unsure = (middles[:, 2] > 49.0) & (np.abs(middles[:, 0]) < 40.0)
    skin = skin_of(mesh, lines[:6], unsure)
    values = [*girth_values(skin, Allowance()), *span_values(skin, Allowance())]
    assert len(values) > 10
    low, high = (
        mesh.vertices[mesh.faces[unsure]].min((0, 1)),
        mesh.vertices[mesh.faces[unsure]].max((0, 1)),
    )
    for value in values:
        if value.way in ("round", "over"):
            places = np.linspace(value.line[:-1], value.line[1:], 60).reshape(-1, 3)
            off = np.maximum(np.maximum(low - places, places - high), 0.0)
            assert np.linalg.norm(off, axis=1).min() > 3.0


def test_where_all_is_a_guess_no_tape_is_named() -> None:
    mesh, lines = box()
    table = table_of(mesh, lines[:4], unsure=np.ones(len(mesh.faces), bool))
    assert table.values == ()
    assert table.asked == 10


def test_a_girth_that_hangs_on_where_the_scan_ends_is_left_out() -> None:
    """Half an ellipsoid, open below: its lower edge is where somebody stopped scanning."""
    whole = ellipsoid()
    half = whole.faces[(whole.vertices[whole.faces][:, :, 2] > -20.0).all(axis=1)]
    cut = TriMesh(whole.vertices, half)
    for value in table_of(cut).values:
        heights = value.line[:, 2] - 40.0
        assert heights.min() > -15.0  # those round the waist, clear of the edge, may stay


def notched_tunnel() -> TriMesh:
    """Return a box without its bottom, a notch of 90 x 40 mm cut into its right side from below."""
    body = trimesh.creation.box(BOX)
    for _ in range(5):
        body = body.subdivide()
    body.update_faces(body.triangles_center[:, 2] > -BOX[2] / 2.0 + 1e-6)

    def within(mesh: trimesh.Trimesh, origin: list[float], normal: list[float]) -> trimesh.Trimesh:
        """Return what lies on the side of a plane its normal points to."""
        cut = trimesh.intersections.slice_mesh_plane(mesh, normal, origin)  # type: ignore[no-untyped-call]
        return trimesh.Trimesh(cut.vertices, cut.faces, process=False)

    behind, ahead = (within(body, [x, 0, 0], [s, 0, 0]) for x, s in ((-20.0, -1), (70.0, 1)))
    between = within(within(body, [-20.0, 0, 0], [1, 0, 0]), [70.0, 0, 0], [-1, 0, 0])
    above = within(between, [0, 0, -10.0], [0, 0, 1])
    below = within(between, [0, 0, -10.0], [0, 0, -1])
    left = within(below, [0, 0, 0], [0, 1, 0])
    parts = [behind, ahead, above, left]
    corners = np.concatenate([np.array(part.triangles) for part in parts]).reshape(-1, 3)
    vertices, faces = np.unique(corners.round(6), axis=0, return_inverse=True)
    faces = faces.reshape(-1, 3)
    proper = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    return TriMesh(vertices, faces[proper])


def test_a_cut_out_gives_corners_whose_distances_are_its_own() -> None:
    """No line at all: eight corners of the rim, the box's four and the notch's four."""
    skin = skin_of(notched_tunnel())
    corners = np.array([hold.point for hold in holds_of(skin) if hold.is_corner])
    foot = [[x, y, 0.0] for x in (0.0, 240.0) for y in (-75.0, 75.0)]
    notch = [[x, -75.0, z] for x in (100.0, 190.0) for z in (0.0, 40.0)]
    known = np.array(foot + notch)
    apart = np.linalg.norm(known[:, None] - corners, axis=2)
    assert len(corners) == 8
    assert apart.min(axis=1).max() < 0.05
    values = list(held_values(skin, holds_of(skin), (), Allowance()))
    between = [v for v in values if {place.on for place in v.places} == {"corner"}]
    assert len(between) >= 12
    for value in between:
        ends = np.array([place.tank for place in value.places])
        exact = known[np.linalg.norm(known[:, None] - ends, axis=2).argmin(axis=0)]
        if value.way == "straight":
            assert value.length_mm == pytest.approx(np.linalg.norm(exact[1] - exact[0]), abs=0.1)


@pytest.mark.parametrize("seed", range(12))
def test_a_rim_however_ragged_has_a_course_of_its_own_length(seed: int) -> None:
    """Steps of a millimetre all round, no corner twice; a smooth one is a circle's 2 pi r.

    Parabolas over 12 mm of a circle of 90 mm lie inside it by less than 1e-4 of its radius.
    """
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0.0, 2.0 * np.pi, 150))
    rough = float(rng.choice([0.0, 3.0, 9.0]))
    radius = 90.0 + rough * rng.standard_normal(150)
    loop = np.stack([radius * np.cos(turn), radius * np.sin(turn), 0.3 * rough * turn], axis=1)
    course, corners = rim_course(loop)
    steps = np.linalg.norm(np.diff(np.concatenate([course, course[:1]]), axis=0), axis=1)
    assert len(set(corners)) == len(corners)
    assert np.isfinite(course).all()
    if rough == 0.0:
        assert corners == ()
        assert steps.sum() == pytest.approx(2.0 * np.pi * 90.0, rel=3e-3)
        assert raggedness(loop) < 0.8
    elif rough == 9.0:
        assert raggedness(loop) > 0.8


def test_a_fault_moves_a_tape_as_told() -> None:
    """The tank made wrong by each fault, the tape laid again: the change told, to first order."""
    skin = skin_of(*box())
    for value in held_values(skin, holds_of(skin), (), Allowance()):
        line = skin.axes.to_tank(value.line)
        if value.way == "over":
            continue
        moved = line + fault_moves(skin, line)
        changes = [float(np.linalg.norm(np.diff(each, axis=0))) - value.length_mm for each in moved]
        assert value.faults == pytest.approx(changes, abs=0.03)


def test_a_mark_stays_where_it_was_set_out_when_the_tank_is_longer() -> None:
    """Along an edge from corner to a mark set out from that corner: no longer, whatever its scale.

    The edge itself is longer by 5 in 1,000; the mark lies back by as much.
    """
    skin = skin_of(*box())
    holds = holds_of(skin)
    for mark in marks_of(skin, holds):
        assert mark.set_out is not None
        towards = mark.ways[0] * np.sign(mark.ways[0] @ (mark.set_out[-1] - mark.set_out[0]))
        told = line_faults(skin, mark.set_out)
        slope = float(towards @ mark.ways[0])
        along = abs(float(mark.ways[0] @ (mark.set_out[-1] - mark.set_out[0])))
        if along > 0.999 * np.linalg.norm(mark.set_out[-1] - mark.set_out[0]):
            assert set_out_faults(skin, mark, slope) == pytest.approx(-told, abs=1e-6)


def test_a_tight_tape_bridges_a_hollow() -> None:
    """Two cylinders of radius r, d apart: a string round both is 2 d + 2 pi r long."""
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    wide = np.clip(np.cos(turn), -1, 1)
    ring = np.stack([0 * turn, 80.0 * np.sign(wide) + 40.0 * wide, 40.0 * np.sin(turn)], axis=1)
    pinched = ring.copy()
    pinched[np.abs(wide) < 0.3, 2] *= 0.4  # a waist under the string
    mesh = _tube(pinched, 300.0)
    skin = skin_of(mesh)
    tape = tape_round(skin, np.array([150.0, 0.0, 40.0]), AHEAD)
    assert tape is not None
    arc = 2.0 * np.pi * 40.0
    assert tape.length == pytest.approx(arc + 2.0 * 160.0, rel=3e-3)


def test_a_tape_over_a_cylinder_is_as_long_as_its_arc() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    ring = np.stack([0 * turn, 100.0 * np.cos(turn), 100.0 * np.sin(turn)], axis=1)
    mesh = _tube(ring, 400.0)
    skin = skin_of(mesh)
    ends = np.array([[200.0, 100.0, 100.0], [200.0, 0.0, 200.0]])  # a quarter, in the tank's axes
    tape = tape_over(skin, ends, np.array([0.0, 1.0, 1.0]))
    assert tape is not None
    assert tape.length == pytest.approx(50.0 * np.pi, rel=1e-4)


def test_a_round_edge_is_held_less_surely_than_a_crisp_one() -> None:
    """Held 0.3 r off the middle of a round at either end: both together make a sum of squares."""
    mesh, lines = box()
    pair = [lines[0], lines[3]]  # along the top left and the foot right
    crisp, soft = (
        [
            value
            for value in span_values(
                skin_of(mesh, [line(each.points, radius) for each in pair]), Allowance(9.0)
            )
            if value.way == "callipers"
        ]
        for radius in (1.0, 6.0)
    )
    assert len(crisp) == len(soft) > 0
    for one, other in zip(crisp, soft, strict=True):
        assert one.length_mm == pytest.approx(other.length_mm)
        assert other.moved_mm > one.moved_mm
        assert other.moved_mm <= np.sqrt(2.0) * 0.3 * 6.0 + 0.1


def test_a_round_hole_is_held_to_and_a_sticker_is_not() -> None:
    mesh, lines = box()
    turn = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    ring = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)

    def hole(diameter: float, x: float) -> Opening:
        centre = np.array([x, 0.0, 50.0])
        return Opening(centre + diameter / 2 * ring, centre, UP, diameter, 0.0, True)

    skin = skin_of(mesh, lines, openings=(hole(8.0, -60.0), hole(60.0, 20.0)))
    values = list(span_values(skin, Allowance()))
    held = [value for value in values if "hole" in {place.on for place in value.places}]
    assert {p.number for value in held for p in value.places if p.on == "hole"} == {1}
    ahead_of_it = BOX[0] / 2 - 20.0 - 30.0
    behind_it = BOX[0] / 2 + 20.0 - 30.0
    lengths = [value.length_mm for value in held if value.reading == "least"]
    for true in (behind_it,):
        assert min(abs(length - true) for length in lengths) < 0.05
    assert min(lengths) > ahead_of_it - 0.05


def test_every_value_keeps_its_limit_when_held_a_little_off() -> None:
    skin = skin_of(*box())
    for allowed in (Allowance(), Allowance(0.6, 0.001)):
        holds = holds_of(skin)
        values = [
            *span_values(skin, allowed),
            *edge_values(skin, holds, (), allowed),
            *held_values(skin, holds, marks_of(skin, holds), allowed),
        ]
        assert values
        for value in values:
            assert 0.0 <= value.moved_mm <= 0.81 * value.limit_mm
            assert value.limit_mm == limit_for(allowed, value.length_mm, value.moved_mm)
            assert value.limit_mm <= 2.0 * allowed.off_mm(value.length_mm)


def _tube(ring: FloatArray, length: float) -> TriMesh:
    """Return a closed ring (first point repeated) drawn out ahead, open at both ends."""
    count, rows = len(ring) - 1, 31
    places = np.linspace(0.0, length, rows)
    vertices = np.concatenate([ring[:-1] + place * AHEAD for place in places])
    a = np.arange(count)
    b = (a + 1) % count
    faces = [
        np.concatenate(
            [
                np.stack([a + k * count, b + k * count, b + (k + 1) * count], axis=1),
                np.stack([a + k * count, b + (k + 1) * count, a + (k + 1) * count], axis=1),
            ]
        )
        for k in range(rows - 1)
    ]
    return TriMesh(vertices, np.concatenate(faces))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["plasticVase_decimated", "bench_scan_ragged_m"])
def test_a_real_scan_offers_only_what_lies_on_its_skin_or_nothing(name: str) -> None:
    """A vase has tapes right round; a ragged piece of a bench has nothing a tape could prove."""
    path = Path(__file__).parents[4] / "shared" / "data" / f"{name}.ply"
    if not path.exists():
        pytest.skip("no real scans here")
    mesh = sound_mesh(read_scan(path)).mesh
    scale = 1000.0 if name.endswith("_m") else 1.0
    mesh = TriMesh(np.array(mesh.vertices) * scale, mesh.faces)
    values = tape_table(mesh, tank_axes(mesh, None, None)).values
    assert bool(values) == (name == "plasticVase_decimated")
    for value in values:
        away = cKDTree(mesh.vertices).query(value.line)[0]
        assert value.moved_mm <= 0.81 * value.limit_mm
        assert np.max(away) < 10.0  # a triangle's side

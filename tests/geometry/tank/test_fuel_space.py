"""The space inside: metal, paint, caps and tunnel against boxes whose insides are known."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, enclosed_volume
from geometry.tank import (
    CapFoldsError,
    FillerSpec,
    LaidTunnel,
    NoSpaceError,
    OpenTankError,
    PlainTunnel,
    TunnelSizeError,
    TunnelTooLargeError,
    capped,
    fuel_space,
    open_rims,
    recess_off,
    taken_off,
    tunnel_body,
    volume_to,
)
from tests.geometry.tank.bodies_to_fill import box, ellipsoid, open_box


def test_a_box_with_a_tunnel_loses_metal_and_tunnel() -> None:
    """(a - 2t)(b - 2t)(c - 2t) less the tunnel with its metal, to 1e-9; 0.5 % is asked."""
    tunnel = PlainTunnel(60.0, 60.0, 80.0, 80.0, "flat", 2.0, 2.0)
    space = fuel_space(box(400.0, 250.0, 200.0), wall_mm=2.0, metal_mm=2.0, tunnel=tunnel)
    whole = 396.0 * 246.0 * 196.0
    assert space.whole_mm3 == pytest.approx(whole, rel=1e-9)
    assert space.tunnel_mm3 == pytest.approx(396.0 * 64.0 * 82.0, rel=1e-9)
    assert space.volume_mm3 == pytest.approx(whole - 396.0 * 64.0 * 82.0, rel=1e-9)
    assert space.parts == 1


@pytest.mark.parametrize(
    ("top", "area"),
    [
        ("flat", 60.0 * 80.0),
        ("half round", 60.0 * 50.0 + np.pi * 30.0**2 / 2.0),
        ("three-sided", 60.0 * 80.0),
        ("cut corners", 60.0 * 80.0 - 15.0**2),
    ],
)
def test_each_form_of_tunnel_takes_its_section(top: str, area: float) -> None:
    tunnel = PlainTunnel(60.0, 60.0, 80.0, 80.0, top)  # type: ignore[arg-type]
    space = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0, tunnel=tunnel)
    assert space.tunnel_mm3 == pytest.approx(400.0 * area, rel=5e-4)  # 48 chords of the round


def folded(section: list[tuple[float, float]], stations: int = 5) -> TriMesh:
    """Return a sheet folded over a section (left, up), run through and past a box of 400."""
    line = np.array(section)
    x = np.linspace(-10.0, 410.0, stations)
    rows = [np.column_stack([np.full(len(line), at), line]) for at in x]
    grid = np.arange(len(x) * len(line)).reshape(len(x), len(line))
    a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]
    faces = [np.stack(three, axis=-1).reshape(-1, 3) for three in ((a, b, c), (a, c, d))]
    return TriMesh(np.concatenate(rows), np.concatenate(faces))


@pytest.mark.parametrize("flare", [0.0, 10.0])
def test_a_laid_tunnel_takes_what_lies_below_it(flare: float) -> None:
    """Its middle 60 wide on top, its legs flared out: the trapezium grown by half the metal.

    Of 2 mm metal the roof rises by 1; a leg's outside moves out by 1 square to itself, 1 / cos of
    its slope level: at the floor z = 0 and at the raised roof.
    """
    sheet = folded([(30.0 + flare, 0.0), (30.0, 80.0), (-30.0, 80.0), (-30.0 - flare, 0.0)])
    space = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0, tunnel=LaidTunnel(sheet, 2.0))
    slope = flare / 80.0
    out = np.hypot(1.0, slope)
    foot, top = 30.0 + flare + out, 30.0 - slope + out
    # below the sheet's own foot, moved out square to its leg, the body drops straight
    lift = slope / out  # the foot's outer edge stands so much higher
    lower = foot - slope * lift
    area = 2.0 * (lower * lift + (lower + top) / 2.0 * (81.0 - lift))
    assert space.tunnel_mm3 == pytest.approx(400.0 * area, rel=2e-3)


def test_a_laid_tunnel_turned_over_in_its_faces_takes_the_same() -> None:
    sheet = folded([(30.0, 0.0), (30.0, 80.0), (-30.0, 80.0), (-30.0, 0.0)])
    over = TriMesh(sheet.vertices, sheet.faces[:, ::-1])
    whole = box(400.0, 250.0, 200.0)
    one, other = (fuel_space(whole, wall_mm=0.0, tunnel=LaidTunnel(s, 2.0)) for s in (sheet, over))
    assert one.tunnel_mm3 == pytest.approx(400.0 * 62.0 * 81.0, rel=1e-9)
    assert one.tunnel_mm3 == other.tunnel_mm3


def test_a_tapered_tunnel_takes_the_prismoid() -> None:
    """Length / 6 (front + rear + 4 middle) of its sections: exact for flat faces."""
    tunnel = PlainTunnel(80.0, 40.0, 90.0, 50.0, "flat")
    space = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0, tunnel=tunnel)
    prismoid = 400.0 / 6.0 * (80 * 90 + 40 * 50 + 4 * 60 * 70)
    assert space.tunnel_mm3 == pytest.approx(prismoid, rel=1e-9)


def test_a_tunnel_that_ends_takes_only_its_length() -> None:
    tunnel = PlainTunnel(60.0, 60.0, 80.0, 80.0, "flat", length_mm=150.0)
    space = fuel_space(box(400.0, 250.0, 200.0), wall_mm=0.0, metal_mm=2.0, tunnel=tunnel)
    assert space.tunnel_mm3 == pytest.approx(152.0 * 64.0 * 82.0, rel=1e-9)


def test_a_tunnel_handed_in_as_a_body_is_taken_off_as_it_is() -> None:
    whole = box(400.0, 250.0, 200.0)
    body = tunnel_body(PlainTunnel(60.0, 60.0, 80.0, 80.0, "flat"), whole, 0.0)
    plain = fuel_space(whole, wall_mm=0.0, tunnel=body)
    assert plain.volume_mm3 == pytest.approx(2e7 - 400 * 60 * 80, rel=1e-9)


def test_what_is_taken_off_and_what_is_left_make_the_whole() -> None:
    """A ball off an ellipsoid: two routes to the overlap, by either body, agree."""
    one, other = ellipsoid(100.0, 80.0, 60.0, 20), ellipsoid(50.0, 50.0, 50.0, 20)
    moved = TriMesh(other.vertices + [70.0, 10.0, 5.0], other.faces)

    def volume(mesh: TriMesh) -> float:
        return float(enclosed_volume(mesh.vertices, mesh.faces))

    first = volume(one) - volume(taken_off(one, moved))
    second = volume(moved) - volume(taken_off(moved, one))
    assert first == pytest.approx(second, rel=1e-9)
    assert first > 0.1 * volume(moved)


def test_metal_is_counted_on_a_ball() -> None:
    """4/3 pi (r - t)^3 by a mesh whose own volume is known: the ratio of the two is ((r-t)/r)^3."""
    ball = ellipsoid(100.0, 100.0, 100.0, 60)
    space = fuel_space(ball, wall_mm=2.0)
    outside = enclosed_volume(ball.vertices, ball.faces)
    assert space.volume_mm3 / outside == pytest.approx(0.98**3, rel=2e-4)


def test_a_recess_takes_its_drum_and_fuel_stands_round_it() -> None:
    """Pi / 4 (90 + 2 x 2)^2 x 12 under a flat roof; on the level the box is full up to its floor.

    The volume to the recess's floor is that of the box to there.
    """
    whole = fuel_space(box(400.0, 250.0, 200.0), wall_mm=2.0)
    filler = FillerSpec(200.0, seat="recessed", recess_mm=90.0, depth_mm=12.0)
    left = recess_off(whole, filler, 2.0)
    drum = np.pi / 4.0 * 94.0**2 * 12.0
    assert whole.volume_mm3 - left.volume_mm3 == pytest.approx(drum, rel=1e-4)
    assert volume_to(left, 186.0) == pytest.approx(396.0 * 246.0 * 184.0, rel=1e-6)
    beside = FillerSpec(900.0, seat="recessed")
    assert recess_off(whole, beside, 2.0) is whole


def test_an_open_tank_says_which_rims_are_open() -> None:
    with pytest.raises(OpenTankError) as caught:
        fuel_space(open_box(400.0, 250.0, 200.0), wall_mm=0.0)
    (rim,) = caught.value.rims
    assert rim.number == 1
    assert rim.length_mm == pytest.approx(1300.0)
    assert rim.centre.tolist() == [200.0, 0.0, 0.0]
    assert rim.off_flat_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("kind", ["flat", "ruled"])
def test_a_cap_closes_the_box_exactly(kind: str) -> None:
    closed = capped(open_box(400.0, 250.0, 200.0), {1: kind})  # type: ignore[dict-item]
    assert enclosed_volume(closed.vertices, closed.faces) == pytest.approx(2e7, rel=1e-12)
    assert not open_rims(closed)


def test_a_ruled_cap_runs_straight_across_a_bottom_edge_that_is_bowed() -> None:
    """Both sides' bottom edges rise by the same parabola: under the cap the volume is plain.

    Width times the area between the top and the parabola's 40 chords.
    """
    x = np.linspace(0.0, 400.0, 41)
    lift = 40.0 * (1.0 - (x / 200.0 - 1.0) ** 2)
    rings = [
        [(a, 125.0, b), (a, 125.0, 200.0), (a, -125.0, 200.0), (a, -125.0, b)]
        for a, b in zip(x, lift, strict=True)
    ]
    points = np.array(rings).reshape(-1, 3)
    faces = []
    for k in range(40):
        for i in range(3):
            a, b = 4 * k + i, 4 * k + i + 1
            faces += [(a, a + 4, b), (b, a + 4, b + 4)]
    faces += [(0, 1, 2), (0, 2, 3), (160, 162, 161), (160, 163, 162)]
    skin = TriMesh(points, np.array(faces)[:, ::-1])
    closed = capped(skin, {0: "ruled"})
    exact = 250.0 * np.trapezoid(200.0 - lift, x)
    assert enclosed_volume(closed.vertices, closed.faces) == pytest.approx(exact, rel=1e-9)
    assert not open_rims(closed)


def dense_open_box(waver: float) -> TriMesh:
    """Return an open box of 400 x 240 x 100, a point every 10 mm, its foot wavering in plan."""
    x, y = np.linspace(0.0, 400.0, 41), np.linspace(-120.0, 120.0, 25)
    round_it = np.concatenate(
        [
            np.column_stack([x, np.full(41, -120.0)]),
            np.column_stack([np.full(24, 400.0), y[1:]]),
            np.column_stack([x[-2::-1], np.full(40, 120.0)]),
            np.column_stack([np.zeros(23), y[-2:0:-1]]),
        ]
    )
    count = len(round_it)
    foot = round_it + waver * np.random.default_rng(7).uniform(-1.0, 1.0, round_it.shape)
    points = np.concatenate(
        [
            np.column_stack([foot, np.zeros(count)]),
            np.column_stack([round_it, np.full(count, 100.0)]),
            [[200.0, 0.0, 100.0]],
        ]
    )
    i = np.arange(count)
    j = np.roll(i, -1)
    walls = [np.stack([i, j, j + count], 1), np.stack([i, j + count, i + count], 1)]
    roof = np.stack([i + count, j + count, np.full(count, 2 * count)], 1)
    return TriMesh(points, np.concatenate([*walls, roof]))


@pytest.mark.parametrize("kind", ["flat", "ruled"])
@pytest.mark.parametrize("waver", [0.0, 0.02])
def test_every_face_of_a_cap_looks_down_where_the_edge_runs_straight_across(
    kind: str, waver: float
) -> None:
    """Its ends run straight across with many points on them: none of its faces turns over."""
    skin = dense_open_box(waver)
    closed = capped(skin, {0: kind})  # type: ignore[dict-item]
    cap = closed.vertices[closed.faces[len(skin.faces) :]]
    down = np.cross(cap[:, 1] - cap[:, 0], cap[:, 2] - cap[:, 0])[:, 2]
    assert (down < 0.0).all()
    assert -down.sum() / 2.0 == pytest.approx(400.0 * 240.0, rel=1e-3)
    assert not open_rims(closed)
    space = fuel_space(skin, wall_mm=2.0, caps={0: kind})  # type: ignore[dict-item]
    assert space.mesh.vertices[:, 2].min() == pytest.approx(2.0, abs=0.05)


def test_a_cap_that_would_fold_is_refused() -> None:
    skin = open_box(400.0, 250.0, 200.0)
    points = skin.vertices.copy()
    foot = np.flatnonzero(points[:, 2] == 0.0)
    points[foot[[0, 1]]] = points[foot[[1, 0]]]  # two corners of the rim change places
    with pytest.raises(CapFoldsError) as caught:
        capped(TriMesh(points, skin.faces), {1: "flat"})
    assert caught.value.rim.number == 1


def test_a_tunnel_too_wide_or_too_high_is_refused() -> None:
    whole = box(400.0, 250.0, 200.0)
    with pytest.raises(TunnelTooLargeError) as wide:
        fuel_space(whole, wall_mm=0.0, tunnel=PlainTunnel(60.0, 250.0, 80.0, 80.0))
    assert (wide.value.what, wide.value.tunnel_mm, wide.value.tank_mm) == ("wide", 250.0, 250.0)
    with pytest.raises(TunnelTooLargeError) as high:
        fuel_space(whole, wall_mm=0.0, tunnel=PlainTunnel(60.0, 60.0, 80.0, 210.0))
    assert high.value.what == "high"


@pytest.mark.parametrize("size", [0.0, -70.0, float("nan"), float("inf")])
def test_a_tunnel_of_no_size_is_refused(size: float) -> None:
    whole = box(400.0, 250.0, 200.0)
    for at in range(4):
        front, rear, high, low = (size if at == k else 60.0 for k in range(4))
        with pytest.raises(TunnelSizeError) as caught:
            fuel_space(whole, wall_mm=0.0, tunnel=PlainTunnel(front, rear, high, low))
        assert ("width" if at < 2 else "height") in caught.value.what


def test_bodies_that_are_open_or_leave_nothing_are_refused() -> None:
    whole = box(100.0, 80.0, 60.0)
    with pytest.raises(NoSpaceError, match="open"):
        taken_off(whole, open_box(50.0, 50.0, 50.0))
    with pytest.raises(NoSpaceError, match="nothing left"):
        taken_off(whole, TriMesh(whole.vertices * 2.0 - [50.0, 0.0, 30.0], whole.faces))
    with pytest.raises(NoSpaceError, match="inside out"):
        fuel_space(TriMesh(whole.vertices, whole.faces[:, ::-1]), wall_mm=0.0)

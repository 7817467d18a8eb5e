"""Developments of tunnels against hand-worked cases: cones, half rounds, bent channels.

Cone: slant, radii and sector of a frustum from plane geometry. Channel: FAA-H-8083-31, Airframe,
straight line bends, U-channel of .040 2024-T3 over .16 with flats of .8, 1.6, .8; its formula, not
its rounded figures. DIN 6935 (2011-10): beyond r / s = 5 the middle of the metal keeps its length.
"""

import numpy as np
import pytest

from geometry.metal import bend_zone_mm
from geometry.tank import Span, TunnelEnd, bend_take_mm, flat_form, half_net, round_form

THIN_MM = 1e-9
INCH = 25.4


def test_the_tapered_half_tunnel_is_its_hand_worked_sector() -> None:
    """Radii 25 to 20 over 300: slant 300.04166, R 1500.2083, sector of the half cone 2.999583
    degrees, edges 78.53982 and 62.83185, which are pi times the radii.
    """
    net = half_net(round_form(Span(0.0, 300.0, TunnelEnd(20, 40), TunnelEnd(25, 50)), 0.0), THIN_MM)
    rear, front = net.flat_at(0.0), net.flat_at(300.0)
    assert np.linalg.norm(front[0] - rear[0]) == pytest.approx(300.04166, abs=1e-5)
    ways = net.flat_per_x[[0, -1]] / np.linalg.norm(net.flat_per_x[[0, -1]], axis=1)[:, None]
    sector = float(np.arccos(ways[0] @ ways[1]))
    assert 2.0 * np.degrees(sector) == pytest.approx(2.999583, abs=1e-6)
    point = np.array([0.0, front[0, 1] - 1500.2083])
    for edge, radius, whole in ((front, 1500.2083, 78.53982), (rear, 1200.16664, 62.83185)):
        assert np.allclose(np.linalg.norm(edge - point, axis=1), radius, atol=1e-4)
        assert 2.0 * radius * sector == pytest.approx(whole, abs=1e-4)


def test_a_frustum_rolls_out_to_the_published_slant_and_sector() -> None:
    """Base R 100, top R 60, height 120: slant 126.491106, R 316.227766, sector 113.841996."""
    span = Span(0.0, 120.0, TunnelEnd(60, 120), TunnelEnd(100, 200))
    net = half_net(round_form(span, 0.0), THIN_MM)
    slant = np.linalg.norm(net.flat_at(120.0)[0] - net.flat_at(0.0)[0])
    assert slant == pytest.approx(126.491106, abs=1e-6)
    ways = net.flat_per_x[[0, -1]] / np.linalg.norm(net.flat_per_x[[0, -1]], axis=1)[:, None]
    half_sector = np.degrees(np.arccos(ways[0] @ ways[1]))
    assert 4.0 * half_sector == pytest.approx(113.841996, abs=1e-5)


def test_a_half_round_takes_the_middle_of_the_metal() -> None:
    """1.6 mm rolled to outside R 100: 311.6 round the half, pi times 99.2."""
    net = half_net(round_form(Span(0.0, 90.0, TunnelEnd(99, 196.8), TunnelEnd(99, 196.8)), 0), 1.6)
    assert 2.0 * net.flat_at(0.0)[-1, 0] == pytest.approx(np.pi * 99.2, abs=1e-9)
    assert net.take_mm == pytest.approx(0.5 * np.pi * 99.2)


def test_a_channel_takes_the_handbook_length() -> None:
    """.8 + 1.6 + .8 in of flats and two bends of .279072 in: 3.758144 in."""
    sheet, radius = 0.040 * INCH, 0.16 * INCH
    end = TunnelEnd((0.8 + 0.16) * INCH, (1.6 + 0.32) * INCH)
    net = half_net(flat_form(Span(0.0, 100.0, end, end), 0.0, radius), sheet)
    foot = net.leg_flat_at(np.zeros(1), np.array([0.8 * INCH]))[0]
    assert 2.0 * foot[0] / INCH == pytest.approx(3.758144, abs=1e-6)
    assert net.take_mm == pytest.approx(bend_zone_mm(np.pi / 2.0, radius, sheet))


def test_a_large_corner_takes_what_din_6935_says() -> None:
    """Radius 12, s 2: k = 1, v = -7.5796, so that the bend takes v + 2 (r + s) = 20.4204."""
    assert bend_take_mm(np.pi / 2.0, 12.0, 2.0) == pytest.approx(-7.5796 + 28.0, abs=1e-4)


@pytest.mark.parametrize("flare", [0.0, 0.2])
@pytest.mark.parametrize("tops", ["round", "flat"])
def test_every_length_on_the_face_is_kept(tops: str, flare: float) -> None:
    """Along rulings, down legs and, but for a fold's own shortening, along the ends.

    Chords of 2,000 pieces leave the end's curve by r dw^2 / 24 of each: below 1e-5 in all.
    """
    span = Span(0.0, 300.0, TunnelEnd(60, 40), TunnelEnd(75, 52))
    form = round_form(span, flare) if tops == "round" else flat_form(span, flare, 12.0)
    net = half_net(form, 1.6, 2001)
    lengths = np.linalg.norm(net.rulings.per_x, axis=1)
    np.testing.assert_allclose(np.linalg.norm(net.flat_per_x, axis=1), lengths, atol=1e-12)
    for x in (0.0, 300.0):
        space, flat = net.rulings.points(x), net.flat_at(x)
        one, other = (np.linalg.norm(np.diff(each, axis=0), axis=1).sum() for each in (space, flat))
        assert one == pytest.approx(other, abs=1e-4)
    at, down = np.array([0.0, 300.0, 300.0]), np.array([5.0, 40.0, 0.0])
    space, flat = net.leg_at(at, down), net.leg_flat_at(at, down)
    for one, other in ((0, 1), (1, 2), (0, 2)):
        assert np.linalg.norm(space[one] - space[other]) == pytest.approx(
            np.linalg.norm(flat[one] - flat[other]), abs=1e-9
        )


def test_the_radius_told_of_a_cone_is_its_own() -> None:
    """Square to a ruling, a cone's radius is that of its circle over cos of the half angle."""
    form = round_form(Span(0.0, 300.0, TunnelEnd(20, 40), TunnelEnd(25, 50)), 0.0)
    net = half_net(form, THIN_MM)
    for x, radius in ((0.0, 20.0), (300.0, 25.0)):
        wanted = radius / np.cos(form.half_angle_rad)
        assert net.radius_at(x) == pytest.approx(wanted, abs=1e-6)

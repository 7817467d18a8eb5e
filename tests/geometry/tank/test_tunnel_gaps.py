"""Gaps between a tunnel and what runs under it, against closed forms and brute force."""

import numpy as np
import pytest

from geometry.tank import (
    Room,
    RoundBody,
    Span,
    TunnelEnd,
    TunnelSeat,
    body_gap,
    flat_form,
    round_form,
    tunnel_gaps,
)

END = TunnelEnd(70.0, 60.0)
SPAN = Span(0.0, 300.0, END, END)
SEAT = TunnelSeat(20.0, 5.0, 0.0)
PULL = Room(1.0, 1.5)


def test_a_tube_along_a_straight_tunnel_leaves_what_arithmetic_says() -> None:
    """Inside half width 30, crown at 75 in the tank; tube of radius 16 with its axis 45 up."""
    tube = RoundBody("tube", (0.0, 0.0, 45.0), (400.0, 0.0, 45.0), 32.0)
    for form in (round_form(SPAN, 0.0), flat_form(SPAN, 0.0, 4.0)):
        crown, left, right = tunnel_gaps([(form, (0.0, 300.0))], SEAT, [tube], PULL, down_mm=40.0)
        assert (crown.before_mm, crown.after_mm) == pytest.approx((14.0, 13.0), abs=1e-6)
        assert (left.before_mm, left.after_mm) == pytest.approx((14.0, 12.5), abs=1e-6)
        assert right.before_mm == pytest.approx(left.before_mm)
        assert (left.part, left.body) == ("left side", "tube")


def test_a_slanting_tube_and_a_bolt_leave_what_a_dense_search_finds() -> None:
    form = flat_form(Span(0.0, 300.0, TunnelEnd(60, 50), TunnelEnd(80, 70)), 0.15, 10.0)
    bodies = [
        RoundBody("tube", (0.0, 3.0, 30.0), (400.0, -4.0, 60.0), 30.0),
        RoundBody("bolt", (150.0, -18.0, 25.0), (150.0, 21.0, 25.0), 8.0),
    ]
    found = tunnel_gaps([(form, (0.0, 300.0))], SEAT, bodies, Room(), down_mm=60.0)
    inside = form.rulings(0.0, 201)
    x = np.linspace(0.0, 300.0, 601)[:, None, None]
    corner = inside.at[1:] + x * inside.per_x[1:]
    leg = inside.at[-1] + x * inside.per_x[-1] + np.linspace(0, 60, 241)[:, None] * form.leg
    for body in bodies:
        for part, sign in (("left side", 1.0), ("right side", -1.0)):
            places = np.concatenate([corner, leg], axis=1) * [1.0, sign, 1.0]
            searched = float(body_gap(SEAT.to_tank(places), body).min())
            gap = next(each for each in found if (each.body, each.part) == (body.name, part))
            assert gap.before_mm == pytest.approx(searched, abs=0.02)
            assert gap.before_mm <= searched + 1e-9
            assert gap.after_mm == pytest.approx(gap.before_mm, abs=1e-9)
            at = np.array(gap.at)
            assert float(body_gap(at, body)) == pytest.approx(gap.before_mm, abs=1e-9)


def test_a_body_through_the_metal_is_told_below_nothing() -> None:
    bolt = RoundBody("bolt", (150.0, -40.0, 30.0), (150.0, 40.0, 30.0), 8.0)
    form = flat_form(SPAN, 0.0, 4.0)
    gaps = tunnel_gaps([(form, (0.0, 300.0))], SEAT, [bolt], PULL, down_mm=60.0)
    assert min(gap.before_mm for gap in gaps) == pytest.approx(-4.0, abs=0.2)

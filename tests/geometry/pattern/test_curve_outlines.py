"""Net line, line to cut and openings as curves, against the pattern they belong to."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometry.pattern import dress, outline_curves
from geometry.pattern.curve_outlines import OUTLINE_MM
from geometry.pattern.curve_runs import Outline
from tests.app.exports.sample_sheets import cut_panel, flat_panel
from tests.geometry.pattern.stand_ins import dome

KINDS: tuple[Outline, ...] = ("arcs", "splines")


@pytest.mark.parametrize("kind", KINDS)
def test_the_net_of_a_dome_is_the_circle_it_is(kind: Outline) -> None:
    """Laid out with true meridians its net has the radius R t: 2 pi R t round."""
    pattern = dress(dome(60, 150.0, 0.9), trim_mm=12.7)
    curves = outline_curves(pattern, kind)
    assert curves.net.curve.length == pytest.approx(2.0 * np.pi * 135.0, abs=0.05)
    assert curves.trim is not None
    # The trim line's chords lie within 0.007 mm of its arcs, those of the net within 0.005 mm.
    assert curves.trim.curve.length == pytest.approx(2.0 * np.pi * 147.7, abs=0.15)
    assert curves.largest_off_mm <= OUTLINE_MM
    assert curves.points_per_metre < 60.0


@pytest.mark.parametrize("kind", KINDS)
def test_a_real_panel_is_followed_both_ways_and_its_corners_kept(kind: Outline) -> None:
    pattern = dress(flat_panel("left side"), cut_panel("left side"))
    curves = outline_curves(pattern, kind)
    assert curves.trim is not None
    for points, fit in ((pattern.net, curves.net), (pattern.trim, curves.trim)):
        assert points is not None
        ring = shapely.LinearRing(fit.curve.sampled(1e-5))
        off = shapely.distance(shapely.points(points), ring)
        assert off.max() <= OUTLINE_MM + 1e-5
        assert fit.largest_off_mm <= OUTLINE_MM
    corners = curves.net.curve.points[curves.net.corners].tolist()
    for edge in pattern.edges:
        assert edge.points[0].tolist() in corners


def test_a_round_opening_is_a_circle_where_it_is_one_on_the_blank() -> None:
    pattern = dress(flat_panel("top strip"), cut_panel("top strip"))
    angle = 2.0 * np.pi * np.arange(72) / 72
    ring = [30.0, 5.0] + 28.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    opening = replace(pattern.openings[0], outline=ring)
    circle, oval = (
        outline_curves(replace(pattern, openings=(replace(opening, outline=r),)), "arcs").openings[
            0
        ]
        for r in (ring, ring * [1.01, 1.0])
    )
    assert circle.length == pytest.approx(56.0 * np.pi, abs=1e-9)
    assert circle.bulges.tolist() == [1.0, 1.0]
    assert len(oval.points) > 2


def test_curves_are_worked_out_once() -> None:
    pattern = dress(flat_panel("left side"), cut_panel("left side"))
    again = replace(pattern, net=pattern.net.copy())
    assert outline_curves(pattern, "arcs").net is outline_curves(again, "arcs").net

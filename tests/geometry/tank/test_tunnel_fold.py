"""Nets folded back up by numbers alone, against the ends that were asked for."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.tank import (
    FlatForm,
    HalfNet,
    RoundForm,
    Span,
    TunnelEnd,
    flat_form,
    folded_end,
    half_net,
    round_form,
)
from tests.convergence import observed_order

SHEET_MM = 1.6
DOWN_MM = np.array([0.0, 15.0, 30.0])
ENDS = [(60, 50, 60, 50), (60, 40, 70, 50), (70, 50, 60, 40), (60, 40, 60, 50), (55, 50, 75, 50)]


def _span(rear_high: float, rear_wide: float, front_high: float, front_wide: float) -> Span:
    return Span(0.0, 300.0, TunnelEnd(rear_high, rear_wide), TunnelEnd(front_high, front_wide))


def _off(form: RoundForm | FlatForm, net: HalfNet, x: float, strips: int = 64) -> float:
    """Return how far the folded end's inside is from the form's."""
    folded = folded_end(net, SHEET_MM, x, DOWN_MM, strips=strips)
    middle = form.rulings(0.5 * SHEET_MM, len(net.flat) - net.first_bent)
    top = middle.points(x) - 0.5 * SHEET_MM * middle.normals
    leg = top[-1] + np.outer(DOWN_MM, form.leg)
    return float(max(np.abs(folded.top - top).max(), np.abs(folded.leg - leg).max()))


@pytest.mark.parametrize("flare", [0.0, 0.15])
@pytest.mark.parametrize("ends", ENDS)
def test_a_rolled_net_folds_to_its_ends(ends: tuple[float, ...], flare: float) -> None:
    """1,024 strips to the half: off by less than r / 24 (pi / 2048)^2, 3e-6 mm."""
    form = round_form(_span(*ends), flare)
    net = half_net(form, SHEET_MM, 17)
    assert max(_off(form, net, x) for x in (-12.7, 0.0, 300.0, 312.7)) < 6e-6


@pytest.mark.parametrize("radius", [1.6, 12.0])
@pytest.mark.parametrize("flare", [0.0, 0.15])
@pytest.mark.parametrize("ends", ENDS)
def test_a_bent_net_folds_to_its_ends(ends: tuple[float, ...], flare: float, radius: float) -> None:
    """Rigid faces about the bend's axis: nothing is left out but rounding."""
    form = flat_form(_span(*ends), flare, radius)
    net = half_net(form, SHEET_MM, 9)
    assert max(_off(form, net, x) for x in (-12.7, 0.0, 300.0, 312.7)) < 1e-9


def test_rolling_in_finer_strips_nears_the_end_by_their_square() -> None:
    form = round_form(_span(60, 40, 70, 50), 0.1)
    net = half_net(form, SHEET_MM, 5)
    sizes = [0.5, 0.25, 0.125, 0.0625]
    order = observed_order(lambda size: _off(form, net, 300.0, round(1.0 / size)), sizes)
    assert order == pytest.approx(2.0, abs=0.1)


def test_a_net_with_a_wrong_radius_or_a_wrong_width_is_found_out() -> None:
    """The folding does not know the form: a roll 1 mm too wide, a bend 1 mm too long show."""
    round_one, flat_one = round_form(_span(*ENDS[1]), 0.0), flat_form(_span(*ENDS[1]), 0.0, 2.0)
    net = half_net(round_one, SHEET_MM, 17)
    start, slope = net.inside_radius_mm
    assert _off(round_one, replace(net, inside_radius_mm=(start + 1.0, slope)), 300.0) > 0.5
    bent = half_net(flat_one, SHEET_MM, 9)
    longer = bent.flat + np.array([[0.0, 0.0]] + [[0.6, 0.0]] * 9)
    assert _off(flat_one, replace(bent, flat=longer), 300.0) > 0.5

"""The faces of a tunnel against the ends they are asked for."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.tank import (
    FlatForm,
    RoundForm,
    Span,
    TooMuchTaperError,
    TunnelEnd,
    flat_form,
    round_form,
)

ENDS = [(60, 50, 60, 50), (60, 40, 70, 50), (70, 50, 60, 40), (60, 40, 60, 50), (55, 50, 75, 50)]
FLARES = [0.0, 0.1, 0.3]


def _span(rear_high: float, rear_wide: float, front_high: float, front_wide: float) -> Span:
    return Span(0.0, 300.0, TunnelEnd(rear_high, rear_wide), TunnelEnd(front_high, front_wide))


def _whole_section(form: RoundForm, x: float) -> FloatArray:
    """Return the (k, 3) section of the whole cone or cylinder, from its axis and half angle."""
    turn = np.linspace(0.0, np.pi, 20001)[:, None]
    outward = np.cos(turn) * form.upward + np.sin(turn) * np.array([0.0, 1.0, 0.0])
    way = np.cos(form.half_angle_rad) * form.axis + np.sin(form.half_angle_rad) * outward
    place = form.place + form.radius_mm * outward
    return np.asarray(place + ((x - place[:, 0]) / way[:, 0])[:, None] * way)


@pytest.mark.parametrize("ends", ENDS)
def test_a_round_top_has_the_height_and_width_of_both_ends(ends: tuple[float, ...]) -> None:
    form = round_form(_span(*ends), 0.0)
    for x, high, wide in ((0.0, ends[0], ends[1]), (300.0, ends[2], ends[3])):
        section = _whole_section(form, x)
        assert section[:, 2].max() == pytest.approx(high, abs=1e-6)
        assert 2.0 * section[:, 1].max() == pytest.approx(wide, abs=1e-6)


@pytest.mark.parametrize("flare", FLARES)
@pytest.mark.parametrize("ends", ENDS)
def test_legs_touch_a_round_top_and_cut_it_nowhere(ends: tuple[float, ...], flare: float) -> None:
    form = round_form(_span(*ends), flare)
    rulings = form.rulings(0.0, 9)
    normal = np.cross(rulings.per_x[-1], form.leg)
    normal = normal * np.sign(normal[1]) / np.linalg.norm(normal)
    np.testing.assert_allclose(normal, rulings.normals[-1], atol=1e-9)
    for x in (0.0, 300.0):
        off = (_whole_section(form, x) - rulings.at[-1]) @ normal
        assert off.max() == pytest.approx(0.0, abs=1e-6)
    assert form.leg[1] / -form.leg[2] == pytest.approx(np.tan(flare))


@pytest.mark.parametrize("flare", FLARES)
@pytest.mark.parametrize("ends", ENDS)
def test_a_flat_top_and_its_legs_meet_at_the_sharp_corner(
    ends: tuple[float, ...], flare: float
) -> None:
    form = flat_form(_span(*ends), flare, 8.0)
    inside = form.rulings(0.0, 5)
    for x, high, wide in ((0.0, ends[0], ends[1]), (300.0, ends[2], ends[3])):
        corner = np.array([x, 0.5 * wide, high])
        places = inside.points(x)
        np.testing.assert_allclose(places[0], [x, 0.0, high], atol=1e-9)
        assert (corner - places[0]) @ form.top_normal == pytest.approx(0.0, abs=1e-9)
        assert (corner - places[-1]) @ form.leg_normal == pytest.approx(0.0, abs=1e-9)
    assert form.leg @ form.leg_normal == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("make", [round_form, lambda span, flare: flat_form(span, flare, 6.0)])
def test_a_face_further_out_is_as_far_from_the_inside_everywhere(make) -> None:  # type: ignore[no-untyped-def]
    """Offset places lie on the offset face: their distance to its rulings is nothing."""
    form: RoundForm | FlatForm = make(_span(60, 40, 70, 50), 0.1)
    inside, middle = form.rulings(0.0, 33), form.rulings(0.8, 33)
    for x in (0.0, 300.0):
        wanted = inside.points(x) + 0.8 * inside.normals
        along = (wanted[:, 0])[:, None]
        np.testing.assert_allclose(middle.at + along * middle.per_x, wanted, atol=1e-9)


def test_ends_too_unlike_each_other_are_refused() -> None:
    with pytest.raises(TooMuchTaperError) as found:
        round_form(Span(0.0, 10.0, TunnelEnd(60, 20), TunnelEnd(160, 30), ("rear", "step 1")), 0.0)
    assert (found.value.behind, found.value.ahead) == ("rear", "step 1")
    with pytest.raises(TooMuchTaperError):
        flat_form(Span(0.0, 10.0, TunnelEnd(60, 20), TunnelEnd(160, 20)), 0.0, 2.0)

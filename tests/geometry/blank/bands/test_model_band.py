"""The model band: what the net line spans over the choices of work."""

import sys
from dataclasses import replace

import numpy as np
import pytest

from geometry.blank import Work, flatten, model_band
from geometry.blank.bands.model_band import ENOUGH, other_choices
from geometry.blank.bands.net_line import NetLine
from geometry.progress import Cancelled
from tests.bodies import cylinder_sheet, dome, tank_top


def test_a_rolled_sheet_is_the_same_however_it_is_worked() -> None:
    """Nothing is stretched, so no choice has any say; 1e-6 is where the choices stop."""
    band = model_band(flatten(cylinder_sheet(100.0, np.pi / 2, 120.0, 12, 8)))
    assert band.reach_mm < 1e-4
    assert len(band.choices) == 5


@pytest.mark.parametrize("work", [Work(), Work("hencky", "formed", bias=0.2)], ids=str)
def test_every_choice_laid_out_afresh_lies_within_the_band_and_fills_it(work: Work) -> None:
    """Each choice's own layout from nothing, to where a residual of 1e-6 stops: 1e-3 mm."""
    mesh = tank_top(8)
    flat = flatten(mesh, work)
    band = model_band(flat)
    line = NetLine.of(flat.flat_vertices, flat.rim)
    assert work not in band.choices
    again = [line.offsets(flatten(mesh, other).flat_vertices[flat.rim]) for other in band.choices]
    np.testing.assert_allclose(band.offsets, again, atol=1e-3)
    spread = np.stack([np.zeros(len(flat.rim)), *again])
    np.testing.assert_allclose(band.outward, spread.max(axis=0), atol=1e-3)
    np.testing.assert_allclose(band.inward, -spread.min(axis=0), atol=1e-3)
    assert band.reach_mm == pytest.approx(np.abs(spread).max(), abs=1e-3)


def test_bias_is_held_and_the_choice_at_hand_is_not_among_the_others() -> None:
    work = Work("hencky", "blank", 0.5, 0.3)
    others = tuple(other_choices(work))
    assert work not in others
    assert {other.bias for other in others} == {0.3}
    assert {(o.measure, o.weight, o.hardening) for o in others} == {
        ("von_mises", "blank", 1.0),
        ("von_mises", "formed", 1.0),
        ("hencky", "blank", 1.0),
        ("hencky", "formed", 1.0),
        ("hencky", "blank", 0.25),
    }


def test_choices_without_a_sound_blank_are_named_and_left_out() -> None:
    """A dome of 110 degrees half-angle stands at hardening 1, but not at 0.25: past 100."""
    flat = flatten(dome(100.0, np.radians(110), 10))
    assert flat.converged
    band = model_band(flat)
    assert Work(hardening=0.25) in band.left_out
    assert set(band.choices) | set(band.left_out) == set(other_choices(flat.work))
    assert set(band.choices) & set(band.left_out) == set()


def test_band_is_the_same_wherever_the_blank_lies() -> None:
    flat = flatten(dome(100.0, 0.8, 6))
    turned = flat.flat_vertices @ np.array([[0.6, 0.8], [-0.8, 0.6]]) + [900.0, -40.0]
    one, other = model_band(flat), model_band(replace(flat, flat_vertices=turned))
    np.testing.assert_allclose(other.outward, one.outward, atol=1e-4)


def test_a_blank_not_converged_has_no_band() -> None:
    flat = replace(flatten(dome(100.0, 0.8, 4)), converged=False)
    with pytest.raises(ValueError, match="not converged"):
        model_band(flat)


def test_it_tells_how_far_it_is_and_stops_when_asked() -> None:
    flat = flatten(dome(100.0, 0.8, 6))
    done: list[float] = []
    model_band(flat, report=lambda share, stage: done.append(share))
    assert done == sorted(done)
    assert done[-1] == 1.0

    def stop(share: float, stage: str) -> None:
        if share > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        model_band(flat, report=stop)


def test_few_triangles_tell_the_band_of_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Within a fifth of the band's size, and the largest never below that of all triangles."""
    flat = flatten(dome(100.0, 0.7, 36))
    assert len(flat.faces) > ENOUGH
    by_few = model_band(flat)
    monkeypatch.setattr(sys.modules["geometry.blank.bands.model_band"], "ENOUGH", 10**9)
    by_all = model_band(flat)
    size = max(by_all.outward.max(), by_all.inward.max())
    assert size > 0.05
    np.testing.assert_allclose(by_few.outward, by_all.outward, atol=0.2 * size)
    np.testing.assert_allclose(by_few.inward, by_all.inward, atol=0.2 * size)
    assert by_few.outward.max() >= by_all.outward.max()

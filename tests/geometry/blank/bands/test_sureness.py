"""How sure: both bands together, and the cut that covers them."""

import json
from dataclasses import replace

import numpy as np
import pytest

from geometry.blank import (
    MeasuringBand,
    MeasuringErrors,
    ModelBand,
    Sureness,
    Work,
    flatten,
    measuring_band,
    model_band,
    sureness,
)
from geometry.progress import Cancelled
from tests.bodies import dome, tank_top

ERRORS = MeasuringErrors(0.05, 8.0, rim_mm=0.2, scale=7e-4)


def by_hand() -> Sureness:
    """Return bands written out by hand, a peak standing between two rows."""
    arc = np.array([0.0, 4.0, 8.0, 12.0, 30.0, 34.0])
    none = np.zeros(6)
    model = ModelBand(np.array([[0.0, 0.1, 2.0, 0.3, 0.4, -0.1]]), (Work("hencky"),), ())
    plus_minus = np.array([0.5, 0.5, 0.6, 0.5, 0.7, 0.5])
    return Sureness(arc, model, MeasuringBand(none, none, plus_minus, 0.0, 0.0, 0.0, {}))


def test_the_figures_are_the_largest_along_the_rim() -> None:
    sure = by_hand()
    assert (sure.model_mm, sure.measuring_mm) == (2.0, 0.7)


def test_the_cut_covers_both_bands_where_they_are_largest_together() -> None:
    sure = by_hand()
    assert sure.cut_allowance == pytest.approx([0.5, 0.6, 2.6, 0.8, 1.1, 0.5])


def test_rows_along_the_rim_lose_no_peak() -> None:
    bands = by_hand().bands()
    assert bands["model"]["rim"] == [[0.0, 0.0, 2.0], [12.0, 0.0, 0.3], [30.0, 0.1, 0.4]]
    assert bands["measuring"]["rim"] == [[0.0, 0.6], [12.0, 0.5], [30.0, 0.7]]
    assert bands["model"]["outward"] == 2.0
    assert json.loads(json.dumps(bands)) == bands


def test_a_band_without_any_other_choice_is_no_band() -> None:
    band = ModelBand(np.empty((0, 3)), (), (Work("hencky"),))
    assert band.inward.tolist() == band.outward.tolist() == [0.0, 0.0, 0.0]
    assert band.reach_mm == 0.0


def test_both_bands_are_those_worked_out_alone() -> None:
    flat = flatten(tank_top(8))
    sure = sureness(flat, ERRORS)
    assert (sure.model.outward == model_band(flat).outward).all()
    assert (sure.measuring.sd == measuring_band(flat, ERRORS).sd).all()
    assert len(sure.arc_mm) == len(flat.rim)
    assert sure.arc_mm[-1] < flat.rim_blank


def test_a_larger_panel_of_the_same_shape_has_a_larger_model_band() -> None:
    """Lengths scale, strains do not."""
    small, large = (model_band(flatten(dome(size, 0.9, 6))) for size in (100.0, 200.0))
    assert large.reach_mm == pytest.approx(2.0 * small.reach_mm, rel=1e-3)


def test_a_blank_not_converged_is_not_sure() -> None:
    flat = replace(flatten(dome(100.0, 0.8, 4)), converged=False)
    with pytest.raises(ValueError, match="not converged"):
        sureness(flat, ERRORS)


def test_it_tells_how_far_it_is_and_stops_when_asked() -> None:
    flat = flatten(dome(100.0, 0.8, 6))
    done: list[float] = []
    sureness(flat, ERRORS, report=lambda share, stage: done.append(share))
    assert done == sorted(done)
    assert done[-1] == 1.0

    def stop(share: float, stage: str) -> None:
        if share > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        sureness(flat, ERRORS, report=stop)

"""The measuring band: closed forms where all errors go together, and how it is put together."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from geometry.blank import MeasuringErrors, flatten, measuring_band, scale_error_of_tapes
from geometry.blank.bands.carrying import CarriedErrors
from geometry.blank.bands.measuring_band import chosen_spots, half_width
from geometry.blank.bands.net_line import NetLine
from geometry.progress import Cancelled
from tests.bodies import cylinder_sheet, dome, patch, tank_top
from tests.convergence import observed_order

ALL_TOGETHER = 1e7
"""A correlation length that makes every place err alike."""


def test_a_dome_measured_too_high_all_over_is_a_dome_of_larger_radius() -> None:
    """The blank grows as the sphere: s r / R.

    At the rim a normal is the mean of faces on one side only and leans by half a face, so the
    error falls with the first power of the triangles' size.
    """

    def found_over_told(size: float) -> float:
        flat = flatten(dome(150.0, 0.6, round(1.0 / size)))
        rim = flat.flat_vertices[flat.rim] - flat.flat_vertices[0]
        told = 0.2 * np.linalg.norm(rim, axis=1).mean() / 150.0
        return float(measuring_band(flat, MeasuringErrors(0.2, ALL_TOGETHER)).average_sd / told)

    sizes = [1 / 6, 1 / 12, 1 / 24]
    errors = {size: found_over_told(size) - 1.0 for size in sizes}
    assert observed_order(lambda size: abs(errors[size]), sizes) == pytest.approx(1.0, abs=0.1)
    assert 2.0 * errors[1 / 24] - errors[1 / 12] == pytest.approx(0.0, abs=2e-3)


def test_a_rolled_sheet_measured_too_high_all_over_is_wider_by_half_its_angle() -> None:
    """Each straight edge moves out by s angle / 2, less the lean of the normals at the edge.

    These lean by half of a facet's turn, pi / 96 here, and take s times that away.
    """
    flat = flatten(cylinder_sheet(100.0, np.pi / 2, 150.0, 24, 12))
    band = measuring_band(flat, MeasuringErrors(0.2, ALL_TOGETHER))
    line = NetLine.of(flat.flat_vertices, flat.rim)
    along_edge = np.abs(flat.vertices[flat.rim, 0] - 75.0) < 60.0
    edge = along_edge & (np.abs(np.abs(flat.vertices[flat.rim, 1]) - 100 * np.sin(np.pi / 4)) < 1)
    assert edge.sum() == 2 * 9
    assert np.linalg.norm(line.outward[edge], axis=1) == pytest.approx(1.0)
    told = 0.2 * (np.pi / 4 - np.pi / 96)
    assert band.sd[edge] == pytest.approx(np.full(edge.sum(), told), rel=1e-3)


def test_an_edge_seen_too_far_out_all_round_moves_a_flat_net_as_far() -> None:
    x, y = np.meshgrid(np.linspace(0, 90, 16), np.linspace(0, 60, 11), indexing="ij")
    flat = flatten(patch(x, y, 0.0 * x))
    band = measuring_band(flat, MeasuringErrors(0.0, ALL_TOGETHER, rim_mm=0.3))
    size = np.linalg.norm(NetLine.of(flat.flat_vertices, flat.rim).outward, axis=1) ** 2
    np.testing.assert_allclose(band.sd, 0.3 * size, rtol=1e-5)  # a corner moves along its bisector


def test_an_error_of_scale_moves_the_net_by_its_share_of_the_size() -> None:
    flat = flatten(dome(150.0, 0.6, 6))
    band = measuring_band(flat, MeasuringErrors(0.0, 10.0, scale=1e-3))
    line = NetLine.of(flat.flat_vertices, flat.rim)
    np.testing.assert_allclose(
        band.sd, 1e-3 * np.abs(line.offsets(2.0 * flat.flat_vertices[flat.rim])), rtol=1e-9
    )
    assert band.average_sd == pytest.approx(1e-3 * 2.0 * flat.blank_area / flat.rim_blank)
    assert not band.shift.any()


def test_errors_that_have_nothing_in_common_add_by_their_squares() -> None:
    flat = flatten(tank_top(6))
    one = measuring_band(flat, MeasuringErrors(0.1, 12.0))
    two = measuring_band(flat, MeasuringErrors(0.0, 12.0, rim_mm=0.2))
    parts: list[dict[str, Any]] = [
        {"scale": 1e-3},
        {"wide_mm": 0.2, "wide_correlation_mm": 40.0},
        {"unseen_mm": 0.1},
        {"rim_shift_mm": 0.3},
    ]
    others = [measuring_band(flat, MeasuringErrors(0.0, 12.0, **part)) for part in parts]
    every = {name: value for part in parts for name, value in part.items()}
    whole = measuring_band(flat, MeasuringErrors(0.1, 12.0, rim_mm=0.2, **every))
    total = sum(band.sd**2 for band in (one, two, *others))
    np.testing.assert_allclose(whole.sd**2, total, rtol=1e-9)
    of_kind = {
        "points": one.sd,
        "tapes": others[0].sd,
        "passes": others[1].sd,
        "creases": others[2].sd,
        "edge": np.hypot(two.sd, others[3].sd),
    }
    assert of_kind.keys() == whole.sd_of_kind.keys()
    for kind, sd in whole.sd_of_kind.items():
        np.testing.assert_allclose(sd, of_kind[kind], rtol=1e-9)


def test_errors_of_one_kind_that_go_together_are_those_that_reach_everywhere() -> None:
    """Correlation over 10 km, in cells of one place, against a plain sum of what each moves."""
    flat = flatten(tank_top(6))
    higher = 0.1 + 0.001 * flat.vertices[:, 0]
    together = measuring_band(flat, MeasuringErrors(0.0, 0.0, unseen_mm=higher))
    reaching = MeasuringErrors(0.0, 0.0, wide_mm=higher, wide_correlation_mm=ALL_TOGETHER)
    np.testing.assert_allclose(together.sd, measuring_band(flat, reaching).sd, rtol=1e-4)
    shifted = measuring_band(flat, MeasuringErrors(0.0, 0.0, rim_shift_mm=0.3))
    by_chance = measuring_band(flat, MeasuringErrors(0.0, ALL_TOGETHER, rim_mm=0.3))
    np.testing.assert_allclose(shifted.sd, by_chance.sd, rtol=1e-4)


def test_reasons_are_what_counts_at_the_least_sure_place_largest_first() -> None:
    flat = flatten(tank_top(6))
    band = measuring_band(flat, MeasuringErrors(0.01, 12.0, scale=1e-3, rim_shift_mm=0.6))
    (first, most), *others = band.reasons
    assert first == "edge"
    assert [kind for kind, _ in others] == ["tapes", "points"]
    assert most == pytest.approx(1.959964 * band.sd_of_kind["edge"][band.plus_minus.argmax()])
    together = np.sqrt(sum(by**2 for _, by in band.reasons))
    assert together == pytest.approx(band.reach_mm, rel=1e-3)


def test_wide_errors_roughen_nothing() -> None:
    """They do not make a blank too big: their slopes are next to none."""
    flat = flatten(dome(150.0, 0.6, 6))
    band = measuring_band(flat, MeasuringErrors(0.0, 0.0, wide_mm=0.2, wide_correlation_mm=40.0))
    assert not band.shift.any()


def test_spots_of_a_long_rim_give_what_all_of_it_does() -> None:
    """In between the variance runs straight: off by most beside a corner, where it changes fast."""
    flat = flatten(tank_top(18))
    rim_mm = np.where(flat.vertices[flat.rim, 1] > 69.9, 0.2, 0.0)
    line = NetLine.of(flat.flat_vertices, flat.rim)
    assert len(chosen_spots(line, rim_mm)) < 0.6 * len(flat.rim)
    errors = MeasuringErrors(0.1, 12.0, rim_mm)
    carried = CarriedErrors(flat, errors.of_every_vertex(flat))
    first = carried.variances(np.eye(len(flat.rim)))
    every = np.sqrt(sum(first.values()) + carried.rough_offsets().var(axis=1, ddof=1))
    some = measuring_band(flat, errors)
    np.testing.assert_allclose(some.sd, every, atol=0.05 * every.max())


def test_spots_stand_at_corners_and_either_side_of_a_jump() -> None:
    flat = flatten(tank_top(18))
    line = NetLine.of(flat.flat_vertices, flat.rim)
    rim_mm = np.zeros(len(flat.rim))
    rim_mm[7:30] = 0.2
    spots = chosen_spots(line, rim_mm).tolist()
    assert {6, 7, 29, 30} <= set(spots)
    corners = np.flatnonzero(np.linalg.norm(line.outward, axis=1) < 0.9)
    assert len(corners) == 4
    assert set(corners.tolist()) <= set(spots)


def test_half_width_holds_95_in_100_of_a_normal_distribution_off_its_mean() -> None:
    """Against scipy's distribution."""
    sd, mean = np.array([1.0, 0.1, 2.0, 0.3]), np.array([0.0, 0.5, -1.0, 0.01])
    width = half_width(sd, mean)
    held = np.asarray(norm.cdf(width, mean, sd) - norm.cdf(-width, mean, sd))
    np.testing.assert_allclose(held, 0.95, atol=1e-9)


def test_two_tapes_make_a_scale_surer_than_one() -> None:
    assert scale_error_of_tapes([500.0]) == pytest.approx(1e-3)
    assert scale_error_of_tapes([500.0, 500.0]) == pytest.approx(1e-3 / np.sqrt(2.0))


def test_a_blank_not_converged_has_no_band() -> None:
    flat = replace(flatten(dome(100.0, 0.8, 4)), converged=False)
    with pytest.raises(ValueError, match="not converged"):
        measuring_band(flat, MeasuringErrors(0.1, 5.0))


def test_it_tells_how_far_it_is_and_stops_when_asked() -> None:
    flat = flatten(dome(100.0, 0.8, 6))
    done: list[float] = []
    measuring_band(flat, MeasuringErrors(0.1, 9.0), report=lambda share, stage: done.append(share))
    assert done == sorted(done)
    assert done[-1] == 1.0

    def stop(share: float, stage: str) -> None:
        if share > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        measuring_band(flat, MeasuringErrors(0.1, 9.0), report=stop)

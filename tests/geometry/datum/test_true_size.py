"""True size: units picked and proved by tapes, and tapes laid over the surface."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.datum import (
    Allowance,
    NoUnitFitsTapesError,
    SeveralUnitsFitTapesError,
    SizeOutOfReasonError,
    SizeUnknownError,
    Tape,
    TapeKind,
    TapeOffError,
    TapeTooShortError,
    allowed_off_mm,
    tape_through,
    taped_length,
    true_size,
)
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.scan import MM_PER_UNIT, Unit
from tests.bodies import cylinder_sheet

BODY = cylinder_sheet(4.0, np.pi, 20.0)  # a file in inches: half round, outside R 4 in, 20 in long
ALONG = Tape((0.0, 4.0, 0.0), (20.0, 4.0, 0.0), 508.0)
ACROSS = Tape((0.0, 4.0, 0.0), (0.0, -4.0, 0.0), 203.2)


def test_the_inch_is_the_international_inch_of_1959() -> None:
    """25.4 mm exactly: NIST Special Publication 811, appendix B, from memory."""
    assert MM_PER_UNIT == {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


def test_two_tapes_in_different_directions_pick_the_unit_and_prove_it() -> None:
    size = true_size(BODY, [ALONG, ACROSS])
    assert (size.unit, size.mm_per_unit, size.unit_was_given) == ("in", 25.4, False)
    assert size.proved
    assert [check.off_mm for check in size.checks] == pytest.approx([0.0, 0.0], abs=1e-9)


@pytest.mark.parametrize("second", [None, replace(ALONG, end=(10.0, 4.0, 0.0), length_mm=254.0)])
def test_one_tape_or_two_alongside_each_other_prove_nothing(second: Tape | None) -> None:
    size = true_size(BODY, [ALONG] if second is None else [ALONG, second])
    assert size.unit == "in"
    assert not size.proved


@pytest.mark.parametrize(("degrees", "proved"), [(29.0, False), (31.0, True)])
def test_directions_differ_from_30_degrees_on(degrees: float, proved: bool) -> None:
    """From an edge to the top of the half round: 4 in across and 4 in up."""
    across = 4.0 * np.sqrt(2.0)
    end = (across / np.tan(np.deg2rad(degrees)), 0.0, 4.0)
    slanted = Tape((0.0, 4.0, 0.0), end, 25.4 * across / np.sin(np.deg2rad(degrees)))
    assert true_size(BODY, [ALONG, slanted], unit="in").proved is proved


def test_a_unit_alone_is_a_size_but_no_proof() -> None:
    size = true_size(BODY, [], unit="cm")
    assert (size.mm_per_unit, size.unit_was_given, size.proved) == (10.0, True, False)


@pytest.mark.parametrize("rescale", [False, True])
def test_neither_unit_nor_tape_is_no_size(rescale: bool) -> None:
    with pytest.raises(SizeUnknownError):
        true_size(BODY, [], rescale=rescale)


@pytest.mark.parametrize(("length_mm", "allowed"), [(50.0, 1.0), (500.0, 1.0), (1000.0, 2.0)])
def test_a_tape_may_be_off_by_1_mm_or_a_500th_the_larger(length_mm: float, allowed: float) -> None:
    assert allowed_off_mm(length_mm) == pytest.approx(allowed, abs=1e-12)


@pytest.mark.parametrize(("off_mm", "stops"), [(1.01, False), (1.03, True), (-1.03, True)])
def test_a_tape_farther_off_than_allowed_stops(off_mm: float, stops: bool) -> None:
    """The tape of 508 mm may be off by 0.002 * (508 + off) mm."""
    tape = replace(ALONG, length_mm=508.0 + off_mm)
    if not stops:
        assert true_size(BODY, [tape], unit="in").checks[0].off_mm == pytest.approx(-off_mm)
        return
    with pytest.raises(TapeOffError) as caught:
        true_size(BODY, [tape, ACROSS], unit="in")
    assert [check.agrees for check in caught.value.checks] == [False, True]
    assert caught.value.checks[0].off_mm == pytest.approx(-off_mm)


def test_a_wrong_unit_is_told_from_a_wrong_tape() -> None:
    with pytest.raises(TapeOffError) as caught:
        true_size(BODY, [ALONG], unit="cm")
    assert (caught.value.unit, caught.value.units_that_fit) == ("cm", ("in",))


def test_tapes_that_no_unit_fits_name_the_closest() -> None:
    with pytest.raises(NoUnitFitsTapesError) as caught:
        true_size(BODY, [replace(ALONG, length_mm=520.0)])
    assert caught.value.closest_unit == "in"
    assert caught.value.checks[0].off_mm == pytest.approx(-12.0)


def test_a_tape_too_short_to_tell_units_apart_is_refused() -> None:
    speck = Tape((0.0, 4.0, 0.0), (0.05, 4.0, 0.0), 0.6)
    with pytest.raises(SeveralUnitsFitTapesError) as caught:
        true_size(BODY, [speck])
    assert caught.value.units == ("mm", "cm", "in")


@pytest.mark.parametrize(
    "tape",
    [replace(ALONG, end=ALONG.start), replace(ALONG, length_mm=0.0)],
    ids=["point", "nought"],
)
def test_a_tape_from_a_point_to_itself_or_of_no_length_is_refused(tape: Tape) -> None:
    with pytest.raises(TapeTooShortError) as caught:
        true_size(BODY, [tape], unit="mm")
    assert caught.value.tape is tape


def test_rescaling_takes_the_scale_of_least_squares() -> None:
    """Minimum of sum (s l - t)^2 over s is sum l t / sum l^2, by hand: derivative to nought."""
    tapes = [replace(ALONG, length_mm=1000.5), replace(ACROSS, length_mm=400.0)]
    size = true_size(BODY, tapes, rescale=True)
    assert size.mm_per_unit == pytest.approx((1000.5 * 20 + 400 * 8) / (20**2 + 8**2), rel=1e-14)
    assert size.unit is None
    assert size.proved


def test_rescaling_stops_when_the_tapes_contradict_each_other() -> None:
    with pytest.raises(TapeOffError) as caught:
        true_size(BODY, [ALONG, replace(ACROSS, length_mm=215.0)], rescale=True)
    assert caught.value.unit is None


def test_rescaling_into_a_unit_and_unknown_units_are_our_own_mistakes() -> None:
    with pytest.raises(ValueError, match="not both"):
        true_size(BODY, [ALONG], unit="in", rescale=True)
    with pytest.raises(ValueError, match="furlong"):
        true_size(BODY, [ALONG], unit="furlong")  # type: ignore[arg-type]


def test_a_tape_over_a_half_round_is_pi_r() -> None:
    """Chords shorten a polygon of k sides by (angle / k)^2 / 24 of its length: asserted to 1e-3."""
    fine = cylinder_sheet(100.0, np.pi, 50.0, around=96, along=24)
    tape = Tape((25.0, 100.0, 0.0), (25.0, -100.0, 0.0), 100.0 * np.pi, over=True)
    length = taped_length(fine, tape)
    assert length == pytest.approx(100.0 * np.pi, rel=1e-3)
    assert true_size(fine, [tape], unit="mm").checks[0].agrees


def test_scan_noise_does_not_lengthen_a_tape_over_the_surface() -> None:
    """Noise of 0.05 mm at 2 mm spacing lengthens the bare path; the curve through it hardly."""
    smooth = cylinder_sheet(100.0, np.pi, 40.0, around=157, along=20)
    noise = np.random.default_rng(7).normal(scale=0.05, size=smooth.vertices.shape)
    noisy = TriMesh(smooth.vertices + noise, smooth.faces)
    tape = Tape((20.0, 100.0, 0.0), (20.0, -100.0, 0.0), 100.0 * np.pi, over=True)
    assert taped_length(noisy, tape) == pytest.approx(taped_length(smooth, tape), rel=5e-4)


def test_the_size_does_not_depend_on_where_the_scan_lies() -> None:
    shift = np.array([3.0, -70.0, 11.0])
    moved = TriMesh(BODY.vertices + shift, BODY.faces)
    tapes = [
        replace(tape, start=tuple(tape.start + shift), end=tuple(tape.end + shift))
        for tape in (ALONG, ACROSS)
    ]
    assert true_size(moved, tapes).mm_per_unit == true_size(BODY, [ALONG, ACROSS]).mm_per_unit


def test_how_far_a_tape_may_be_off_is_the_makers_to_say() -> None:
    tape = replace(ALONG, length_mm=508.0 + 1.5)
    with pytest.raises(TapeOffError):
        true_size(BODY, [tape], unit="in")
    size = true_size(BODY, [tape], unit="in", allowed=Allowance(mm=2.0))
    assert size.checks[0].allowed_mm == 2.0
    with pytest.raises(TapeOffError):
        true_size(BODY, [replace(ALONG, length_mm=508.4)], unit="in", allowed=Allowance(0.1, 0.0))


@pytest.mark.parametrize(("mm", "ratio"), [(-1.0, 0.1), (0.0, 0.0), (np.nan, 0.1), (1.0, 1.0)])
def test_an_allowance_of_nothing_is_our_own_mistake(mm: float, ratio: float) -> None:
    with pytest.raises(ValueError, match="held to"):
        Allowance(mm, ratio)


@pytest.mark.parametrize(("factor", "unit"), [(0.00056, "mm"), (0.56, "mm"), (560.0, "m")])
def test_a_tank_of_half_a_millimetre_is_in_another_unit(factor: float, unit: Unit) -> None:
    mesh = TriMesh(BODY.vertices / np.ptp(BODY.vertices[:, 0]) * factor, BODY.faces)
    if factor == 0.00056:  # no unit makes a tank of it: the likely one is told all the same
        with pytest.raises(SizeOutOfReasonError):
            true_size(mesh, [], unit=unit)
        return
    with pytest.raises(SizeOutOfReasonError) as caught:
        true_size(mesh, [], unit=unit)
    assert caught.value.likely_unit == ("m" if factor < 1.0 else "mm")
    assert caught.value.across_mm == pytest.approx(factor * MM_PER_UNIT[unit])
    assert caught.value.likely_mm == pytest.approx(560.0)


def test_a_tape_that_says_so_is_believed_at_any_size() -> None:
    mesh = TriMesh(BODY.vertices / 1000.0, BODY.faces)
    tapes = [replace(t, start=tuple(np.array(t.start) / 1e3), end=tuple(np.array(t.end) / 1e3))
             for t in (ALONG, ACROSS)]  # fmt: skip
    tapes = [replace(tape, length_mm=tape.length_mm / 1e3 * 1.0) for tape in tapes]
    size = true_size(mesh, tapes, unit="in", allowed=Allowance(0.001))
    assert size.proved


def test_a_girth_and_a_length_prove_a_size_but_two_girths_alongside_do_not() -> None:
    inside_out = cylinder_sheet(100.0, np.pi, 400.0, around=180, along=40)
    mesh = TriMesh(inside_out.vertices, inside_out.faces[:, ::-1])
    half = 100.0 * np.pi

    def girth(x: float) -> Tape:
        points = [(x, 100.0, 0.0), (x, 0.0, 100.0), (x, -100.0, 0.0)]
        return tape_through(points, half, "girth")

    along = Tape((0.0, 100.0, 0.0), (400.0, 100.0, 0.0), 400.0)
    assert true_size(mesh, [girth(110.0), along], unit="mm").proved
    alone = true_size(mesh, [girth(110.0), girth(303.0)], unit="mm")
    assert not alone.proved
    assert [check.is_closed for check in alone.checks] == [False, False]
    assert alone.checks[0].followed_mm is None


def test_long_tapes_report_and_stop() -> None:
    inside_out = cylinder_sheet(100.0, np.pi, 400.0, around=96, along=40)
    mesh = TriMesh(inside_out.vertices, inside_out.faces[:, ::-1])
    kinds: tuple[tuple[float, TapeKind], ...] = ((110.0, "girth"), (200.0, "along"))
    tapes = [tape_through([(x, 100.0, 0.0), (x, 0.0, 100.0), (x, -100.0, 0.0)], 314.2, kind)
             for x, kind in kinds]  # fmt: skip
    heard: list[float] = []
    true_size(mesh, tapes, unit="mm", report=lambda done, stage: heard.append(done))
    assert heard == sorted(heard)
    assert heard[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done >= 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        true_size(mesh, tapes, unit="mm", report=stop)

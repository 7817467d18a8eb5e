"""Typed lengths and the text a shaper reads."""

from argparse import ArgumentTypeError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.command_line.sheet_arguments import metal
from app.units import (
    GAUGES_MM,
    KG_PER_LB,
    MM_PER_INCH,
    Fractions,
    GaugeNumberError,
    NotALengthError,
    change_text,
    force_text,
    fraction_text,
    fraction_with_rest_text,
    gain_text,
    inch_text,
    length_text,
    mass_text,
    mm_text,
    parse_length,
    percent_text,
    plain_number,
    pressure_text,
    signed_change_text,
    size_text,
    thickness_text,
)

MINUS = "\u2212"


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("560mm", 560.0),
        ("560", 560.0),
        ("12,7 mm", 12.7),
        ("12.7", 12.7),
        (",5", 0.5),
        (".5 cm", 5.0),
        ("1/16 in", 1.5875),
        ('1/16"', 1.5875),
        ("1 1/2 in", 38.1),
        ("1-1/2 inch", 38.1),
        ("11/2 in", 139.7),
        ("1\u00bd in", 38.1),
        ("\u215b in", 3.175),
        ("22.047 in.", 559.9938),
        ("0,56 m", 560.0),
        ("2 ft", 609.6),
        ("2 ft 6 1/2 in", 774.7),
        ("2' 6\"", 762.0),
        ("  3   IN ", 76.2),
    ],
)
def test_lengths_are_read_as_a_shaper_types_them(text: str, length_mm: float) -> None:
    """1 in = 25.4 mm exactly (international inch, 1959); the rest is arithmetic."""
    assert parse_length(text) == pytest.approx(length_mm, abs=1e-12)


def test_the_unit_offered_counts_only_where_none_is_typed() -> None:
    assert parse_length("1/2", "in") == 12.7
    assert parse_length("12.7 mm", "in") == 12.7


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "nothing was typed"),
        ("  ", "nothing was typed"),
        ("about a foot", "no number in it that we can read"),
        ("mm", "no number in it that we can read"),
        ("-5 mm", "a length is written without a minus"),
        ("\u2212.5 in", "a length is written without a minus"),
        ("1/0 in", "a fraction cannot be divided by 0"),
        ("1.5 1/2 in", "a decimal and a fraction together"),
        ("1,234.5", "more than one decimal point or comma"),
        ("5 furlongs", "we do not know the unit furlongs"),
        ("99999999999999", "too large"),
        ("1e400", "no number in it that we can read"),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(text: str, reason: str) -> None:
    with pytest.raises(NotALengthError) as caught:
        parse_length(text)
    assert caught.value.reason == reason
    assert caught.value.text == text


@given(st.integers(0, 4000), st.sampled_from([16, 32, 64]))
def test_a_fraction_we_write_reads_back_as_itself(count: int, denominator: int) -> None:
    length_mm = count / denominator * 25.4
    assert parse_length(fraction_text(length_mm, denominator)) == pytest.approx(length_mm)


@given(st.floats(0.0, 5000.0))
def test_the_nearest_fraction_is_within_half_a_step(length_mm: float) -> None:
    for denominator in (16, 32):
        read = parse_length(fraction_text(length_mm, denominator))
        assert abs(read - length_mm) <= 25.4 / denominator / 2.0 + 1e-9


@given(st.floats(0.0, 5000.0))
def test_fraction_and_rest_together_say_the_length_to_a_thousandth(length_mm: float) -> None:
    words = fraction_with_rest_text(length_mm)
    head, _, tail = words.partition(" in")
    rest = 0.0
    if tail:
        word, number = tail.split()
        rest = float(number) * (1.0 if word == "and" else -1.0)
    inches = parse_length(head, "in") / 25.4 + rest
    assert inches == pytest.approx(length_mm / 25.4, abs=0.00051)


def test_mm_and_inch_stand_side_by_side() -> None:
    """412 mm = 16.2205 in: 16 1/4 to the sixteenth, 16 7/32 to the thirty-second."""
    assert length_text(412.0) == "412 mm (16 1/4 in)"
    assert length_text(412.0, "in") == "16 1/4 in (412 mm)"
    assert fraction_text(412.0, 32) == "16 7/32 in"
    assert inch_text(412.0) == "16.22 in"
    assert size_text(412.0, 305.0, "in") == "16 1/4 x 12 in (412 x 305 mm)"


@pytest.mark.parametrize("denominator", [16, 32, 64])
def test_a_small_length_reads_nothing_in_neither_unit_or_in_both(denominator: int) -> None:
    for hundredths in range(-120, 121):
        told = length_text(hundredths / 100.0, "mm", denominator)
        metric, inches = told.removesuffix(")").split(" (")
        assert (metric == "0 mm") == (inches == "0 in"), told
        assert not inches.startswith(".000")
    assert length_text(0.76, "in") == ".030 in (0.8 mm)"
    assert length_text(-0.3) == "-0.3 mm (-.012 in)"


def test_sheet_thickness_reads_as_the_trade_writes_it() -> None:
    """.063 in sheet is 1.6 mm, .050 is 1.27 (common sheet sizes, no source needed)."""
    assert thickness_text(1.27) == "1.27 mm (.050 in)"
    assert thickness_text(1.6, "in") == ".063 in (1.6 mm)"


def test_change_is_said_per_hundred_or_per_foot() -> None:
    assert change_text(0.935) == "100 -> 93.5 shrink 6.5"
    assert change_text(1.25, "in") == "12 in -> 15.00 in stretch 3.00 in per foot"
    assert change_text(1.0004) == "100 -> 100 leave"
    assert change_text(0.9999, "in") == "12 in -> 12 in leave"
    assert signed_change_text(-0.065) == f"{MINUS}6.5"
    assert signed_change_text(0.0001) == "0"
    assert percent_text(1.032) == "+3.2 %"


def test_flange_table_of_gather_per_foot_is_reproduced() -> None:
    """Gather per foot = 12 * width / radius: 3/4 in on R 3 in gives 3.00 in (own arithmetic)."""
    assert change_text(1.0 - 0.75 / 3.0, "in").endswith("shrink 3.00 in per foot")
    assert change_text(1.0 - 0.375 / 24.0, "in").endswith("shrink .19 in per foot")


def test_an_edge_says_what_becomes_of_it() -> None:
    assert gain_text(412.0, 398.0) == "flat 412, forms to 398, shrink 14 mm"
    assert gain_text(412.0, 412.02) == "flat 412, forms to 412, no change"
    assert gain_text(25.4, 50.8, "in") == "flat 1, forms to 2, stretch 1 in"


def test_no_number_reads_minus_nothing() -> None:
    assert plain_number(-0.04) == "0"
    assert mm_text(-0.0001) == "0 mm"


@pytest.mark.parametrize(
    "text",
    ["16 gauge", "16ga", "16 GA.", "16-gauge", "SWG 16", "16 swg", "awg 16", "#16", "16g", "No. 16",
     "gauge 16", "16 gauge swg", "16 gage"],
)  # fmt: skip
def test_a_bare_gauge_number_is_refused_and_says_how_gauges_differ(text: str) -> None:
    """Aluminium 1.291, steel 1.519, British 1.626 mm: the same number, a quarter thicker."""
    with pytest.raises(GaugeNumberError) as caught:
        parse_length(text)
    assert caught.value.number == 16
    for known in ("1.291", "1.519", "1.626", "mm or decimal inch"):
        assert known in caught.value.reason


def test_the_command_line_refuses_a_gauge_for_the_sheet_in_the_same_words() -> None:
    with pytest.raises(ArgumentTypeError, match="gauges differ: 16 gauge is"):
        metal("16ga")


@pytest.mark.parametrize("text", ["1.6 mm", ".063 in", "1/16 in", "16", "16 mm", '16"'])
def test_a_thickness_is_no_gauge(text: str) -> None:
    assert parse_length(text) > 0.0


def test_aluminium_gauges_follow_their_rule_and_steels_their_table() -> None:
    """American wire gauge: 0.005 in x 92^((36 - n)/39); steel: the manufacturers' table in inches.

    Source: [gauges]; .1046, .0747, .0598, .0478, .0359, .0299 in for 12 to 22.
    """
    steel = dict(zip(GAUGES_MM, (0.1046, 0.0747, 0.0598, 0.0478, 0.0359, 0.0299), strict=True))
    for number, (aluminium, of_steel, _) in GAUGES_MM.items():
        rule = 0.005 * 92.0 ** ((36 - number) / 39) * MM_PER_INCH
        assert aluminium == pytest.approx(rule, abs=6e-4)
        assert of_steel == pytest.approx(steel[number] * MM_PER_INCH, abs=6e-4)


@given(st.floats(0.0, 3000.0), st.sampled_from([16, 32, 64]))
def test_fraction_and_rest_together_are_the_length(length_mm: float, denominator: int) -> None:
    """Half of the step is the most rounding leaves; the rest is told to .001 in."""
    words = fraction_with_rest_text(length_mm, denominator)
    nearest, _, rest = words.partition(" in")
    inches = sum(_fraction(part) for part in nearest.split())
    if rest:
        inches += float(rest.split()[1]) * (1.0 if "and" in rest else -1.0)
        assert float(rest.split()[1]) <= 0.5 / denominator + 0.0005
    assert inches == pytest.approx(length_mm / MM_PER_INCH, abs=0.00051)


def _fraction(words: str) -> float:
    top, _, bottom = words.partition("/")
    return float(top) / float(bottom or 1)


def test_which_fraction_is_used_where_is_the_makers_to_say() -> None:
    assert (Fractions().cutting, Fractions().fit, Fractions().small) == (16, 32, 64)
    with pytest.raises(ValueError, match="cutting"):
        Fractions(cutting=10)


def test_a_pound_a_square_inch_on_ten_by_twenty_inches_is_two_hundred_pounds() -> None:
    """200 square inches at 1 lbf each; 1 psi is 27.7 inches of water. Source: [nist811]."""
    psi_kpa = 6.894757293168
    load = psi_kpa * 1000.0 * (10 * 0.0254) * (20 * 0.0254)
    assert "200 lbf" in force_text(load)
    assert pressure_text(psi_kpa) == "1 psi (27.7 in water, 6.9 kPa)"


def test_a_mass_is_told_in_both() -> None:
    """1 lb is 0.45359237 kg exactly."""
    assert mass_text(28.7 * KG_PER_LB, "in").startswith("28.7 lb")
    assert mass_text(0.0) == "0 kg (0.00 lb)"

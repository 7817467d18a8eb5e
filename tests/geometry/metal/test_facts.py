"""Metals the maker adds."""

from collections.abc import Mapping

import pytest

from geometry.metal import BadFactError, Figure, MetalFactsError, MissingFactError, metal_from_facts

ROWS = [
    {"over_mm": 0.5, "up_to_mm": 1.5, "value": 0.14},
    {"over_mm": 1.5, "up_to_mm": 3.0, "value": 0.16},
]
FACTS = {
    "alloy": "5754",
    "temper": "O",
    "density": 2.67,
    "elongation": ROWS,
    "source": "mill sheet",
}


def test_facts_make_a_metal_that_names_their_source() -> None:
    metal = metal_from_facts({**FACTS, "hardening": 0.3, "bend_radius": 1})
    assert metal.name == "5754-O"
    assert metal.density == Figure(2.67, "mill sheet")
    assert metal.elongation_at(1.5) == Figure(0.14, "mill sheet")
    assert metal.elongation_at(1.6) == Figure(0.16, "mill sheet")
    assert metal.elongation_at(3.5) is None
    assert metal.bend_radius_at(2.0) == Figure(2.0, "mill sheet")


@pytest.mark.parametrize("fact", ["alloy", "density"])
def test_what_no_metal_can_do_without_is_asked_for(fact: str) -> None:
    with pytest.raises(MissingFactError) as caught:
        metal_from_facts({name: value for name, value in FACTS.items() if name != fact})
    assert caught.value.fact == fact


@pytest.mark.parametrize(
    ("facts", "fact"),
    [
        ({"alloy": ""}, "alloy"),
        ({"alloy": 5754}, "alloy"),
        ({"density": "light"}, "density"),
        ({"density": -2.7}, "density"),
        ({"density": True}, "density"),
        ({"hardening": float("nan")}, "hardening"),
        ({"hardening": 20}, "hardening"),
        ({"elongation": 16}, "elongation"),
        ({"elongation": "16"}, "elongation"),
        ({"elongation": [16]}, "elongation 0"),
        ({"elongation": [{"over_mm": 2, "up_to_mm": 1, "value": 0.1}]}, "elongation 0"),
        ({"elongation": ROWS[::-1]}, "elongation 1"),
        ({"elongation": [{"over_mm": 0, "up_to_mm": 1, "value": -0.1}]}, "elongation 0 value"),
        ({"elongaton": 0.1}, "elongaton"),
    ],
)
def test_a_fact_that_cannot_be_is_named(facts: Mapping[str, object], fact: str) -> None:
    with pytest.raises(BadFactError) as caught:
        metal_from_facts({**FACTS, **facts})
    assert caught.value.fact == fact
    assert caught.value.wanted


def test_a_row_lacking_a_part_says_which() -> None:
    with pytest.raises(MissingFactError) as caught:
        metal_from_facts({**FACTS, "annealed": [{"over_mm": 0, "up_to_mm": 1}]})
    assert caught.value.fact == "annealed 0 value"
    assert isinstance(caught.value, MetalFactsError)

"""The further keys of a blank's JSON against what they were made from."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from app.delivery.findings import (
    allowance_json,
    cases_json,
    edges_json,
    guide_json,
    outline_json,
    rolls_json,
)
from app.job import made, panel_guide, thicknesses
from geometry.metal import METALS
from geometry.pattern import EdgeAllowance, EdgeCut, RollLine
from tests.app.job.small_tank import carried


def test_the_guide_tells_the_metals_figures_and_what_is_asked() -> None:
    state = carried()
    found = panel_guide(made(state, "Blanks", "top").flat, state.metal, METALS)
    assert found is not None
    told = guide_json(found)
    assert told is not None
    assert (told["metal"], told["elongation"], told["annealed"]) == ("3003-H14", 0.05, 0.25)
    assert told["sources"] == {"elongation": "astm-b209", "annealed": "astm-b209"}
    assert told["most_stretch"] == 1.0 + found.asked
    assert told["anneals"] == found.guide.anneals
    assert guide_json(None) is None


def test_the_three_cases_run_from_thin_to_thick() -> None:
    flat = made(carried(), "Blanks", "top").flat
    told = cases_json(thicknesses(flat))
    assert told is not None
    means = [told[name]["mean"] for name in ("all_stretched", "equal_area", "none_stretched")]
    assert means == sorted(means)
    assert told["equal_area"]["blank_area"] == pytest.approx(flat.formed_area)
    assert cases_json(None) is None


def test_edges_add_up_to_the_rim_and_both_panels_of_a_seam_form_alike() -> None:
    """Every bit of the rim belongs to one edge; a seam has one length, whichever side."""
    state = carried()
    told: dict[tuple[str, str], Any] = {}
    for name in ("left", "top", "right"):
        flat = made(state, "Blanks", name).flat
        edges = edges_json(made(state, "Paper", name))
        assert sum(edge["flat"] for edge in edges) == pytest.approx(flat.rim_blank)
        assert sum(edge["formed"] for edge in edges) == pytest.approx(flat.rim_formed)
        for edge in edges:
            told[name, edge["edge"]] = edge
            assert (edge["seam"] is None) == (edge["other"] is None)
            assert edge["cut_flat"] > 0.0 < edge["cut_formed"]
    shared = [edge for (name, _), edge in told.items() if name == "top" and edge["other"]]
    assert len(shared) == 2
    for edge in shared:
        assert told[edge["other"], edge["edge"]]["formed"] == pytest.approx(edge["formed"])


def test_without_a_cut_line_its_lengths_are_null() -> None:
    edge = SimpleNamespace(letter="F1", seam="", other="", flat_mm=10.0, formed_mm=9.0)
    left = EdgeCut("F1", "F1", EdgeAllowance(), 0.4, 13.1)
    bare = SimpleNamespace(edges=(edge,), cut_gathers=(), allowance_of_edge=(left,))
    (told,) = edges_json(bare)  # type: ignore[arg-type]
    assert (told["cut_flat"], told["cut_formed"], told["seam"]) == (None, None, None)


def test_an_edge_tells_its_allowance_and_a_flange_its_angle() -> None:
    flange = EdgeCut("a|top", "A", EdgeAllowance("flange", 10.0, -45.0, "mitred"), 0.5, 9.2)
    assert allowance_json(flange) == {
        "kind": "flange",
        "width": 10.0,
        "angle_degrees": -45.0,
        "corner": "mitred",
        "grown_by": 0.5,
        "cut": 9.2,
    }
    hem = replace(flange, allowance=EdgeAllowance("hem", 8.0))
    assert allowance_json(hem)["angle_degrees"] is None


def test_outlines_tell_what_they_are_made_of_and_how_near_they_run() -> None:
    pattern = made(carried(), "Paper", "top")
    for kind in ("arcs", "splines"):
        told = outline_json(pattern, kind)
        assert told["kind"] == kind
        assert 0.0 <= told["largest_off"] <= 0.02
        assert 0.0 < told["points_per_metre"] < 2000.0


def test_a_roll_line_is_told_by_its_ends_radii_turn_and_side() -> None:
    line = RollLine(
        points=np.array([[0.0, 1.0], [5.0, 1.0], [10.0, 2.0]]),
        formed=np.zeros((3, 3)),
        radii=np.array([120.0, 130.0, 140.0]),
        is_fold=False,
        turn_rad=np.pi / 15.0,
        towards_outside=True,
    )
    (told,) = rolls_json(SimpleNamespace(rolls=(line,)))  # type: ignore[arg-type]
    assert told == {
        "kind": "roll",
        "ends": [[0.0, 1.0], [10.0, 2.0]],
        "radii": [120.0, 140.0],
        "turn_degrees": pytest.approx(12.0),
        "towards": "outside",
    }

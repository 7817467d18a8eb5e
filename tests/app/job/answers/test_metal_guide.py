"""What a panel asks of its metal, in words: within it, beyond it, or not known."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    Flatteners,
    MetalChoice,
    PanelGuide,
    guide_facts,
    guide_words,
    no_guide_words,
    panel_guide,
)
from app.job.answers.metal_guide import source_words
from geometry.blank import FlatPanel, Work
from geometry.metal import METALS, Figure, metal_from_facts
from geometry.pattern import ShapeField
from tests.bodies import cylinder_sheet, dome

KEPT = Flatteners()
DOME = dome(150.0, np.radians(50.0), 14)


def flat_of(work: Work | None = None) -> FlatPanel:
    return KEPT.laid(DOME, Work() if work is None else work, exact=True)


def guide_of(flat: FlatPanel, alloy: str = "3003-H14", sheet_mm: float = 1.6) -> PanelGuide:
    found = panel_guide(flat, MetalChoice(sheet_mm, alloy), METALS)
    assert found is not None
    return found


def test_most_stretch_is_what_is_told_everywhere_else_and_its_place_is_named() -> None:
    """The map's own field at the vertices; on a dome the larger stretch of the edge is no thinning.

    Square to its shrinking an edge draws a little, but there the metal thickens.
    """
    flat = flat_of()
    found = guide_of(flat)
    change = ShapeField(flat.flat_vertices, flat.faces, flat.stretches).change
    assert found.asked == change.max()
    assert found.guide.largest_stretch >= found.asked
    assert found.asked_at in ("at the crown", "between crown and edge")


def test_the_share_beyond_falls_as_the_metal_gives_more_and_is_all_or_nothing_at_the_ends() -> None:
    flat = flat_of()
    asked = guide_of(flat).asked
    shares = []
    for gives in (0.0, 0.25 * asked, 0.5 * asked, asked):
        metal = metal_from_facts({"alloy": "x", "density": 2.7, "elongation": float(gives)})
        found = panel_guide(flat, MetalChoice(1.6, "x"), {"x": metal})
        assert found is not None
        assert found.share_beyond is not None
        shares.append(found.share_beyond)
    assert shares == sorted(shares, reverse=True)
    assert 0.3 < shares[0] < 1.0  # the edge is shrunk
    assert shares[-1] == 0.0


def test_a_deep_panel_is_told_to_be_annealed_and_softer_metal_less_often() -> None:
    words = guide_words(guide_of(flat_of()))
    assert words.startswith("3003-H14 as bought stretches about 5 in every 100 before it tears. ")
    assert ": anneal at least once on the way. A guide, not a verdict." in words
    assert guide_words(guide_of(flat_of(), "3003-O")).endswith(
        ": within that as bought. A guide, not a verdict."
    )


def test_in_inches_it_is_told_in_inches_per_foot() -> None:
    assert "about .60 in per foot before it tears" in guide_words(guide_of(flat_of()), "in")


def test_a_rolled_sheet_asks_no_stretch() -> None:
    flat = KEPT.laid(cylinder_sheet(100.0, 2.0, 100.0), Work())
    words = guide_words(guide_of(flat))
    assert "This panel asks no stretch: within that as bought." in words


def test_each_way_a_guide_can_end_is_told() -> None:
    found = guide_of(flat_of())
    ends = {
        (0, 0.0): ": within that as bought. A guide",
        (0, 0.004): "more than that over 0.4 of every 100 of its skin: anneal that place. A",
        (1, 0.0): "; shrinking hardens it as well: anneal at least once on the way. A",
        (1, 0.002): ", more than that over 0.2 of every 100 of its skin; shrinking hardens it as",
        (2, 0.18): ", more than that over 18 of every 100 of its skin: anneal at least twice on",
        (3, 0.5): ": anneal at least 3 times on the way.",
        (None, 0.18): "of every 100 of its skin; how far it goes once annealed is not known here.",
    }
    for (anneals, share), words in ends.items():
        told = replace(found, guide=replace(found.guide, anneals=anneals), share_beyond=share)
        assert words in guide_words(told), anneals


def test_without_a_figure_for_the_thickness_no_guide_is_made_up() -> None:
    words = guide_words(guide_of(flat_of(), sheet_mm=0.3))
    assert words == (
        "How far 3003-H14 of 0.3 mm (.012 in) stretches before it tears is not known here: "
        "no guide."
    )


def test_a_metal_nobody_gave_figures_of_and_a_blank_not_settled_have_no_guide() -> None:
    assert panel_guide(flat_of(), MetalChoice(1.6, "unobtainium"), METALS) is None
    assert panel_guide(replace(flat_of(), converged=False), MetalChoice(), METALS) is None
    assert "unobtainium" in no_guide_words("unobtainium")


def test_every_figure_says_where_it_comes_from() -> None:
    lines = guide_facts(guide_of(flat_of()))
    assert "as bought stretches at least 5 in every 100 (least figure of ASTM B209)" in lines
    assert "once annealed at least 25 in every 100 (least figure of ASTM B209)" in lines
    usual = "usually 8 in every 100 (usual figure, Handbook of Materials Selection 2002)"
    assert usual in lines
    sources = {
        row.figure.source
        for metal in METALS.values()
        for row in (*metal.elongation, *metal.annealed)
    }
    for source in sources:
        assert "-b209" not in source_words(Figure(0.1, source))


@pytest.mark.parametrize("show", ["mm", "in"])
def test_no_words_of_the_model_stand_before_the_maker(show: str) -> None:
    for work in (Work(), Work(bias=0.5)):
        told = guide_words(guide_of(flat_of(work)), show)
        for word in ("%", "percent", "strain", "elongation"):
            assert word not in told

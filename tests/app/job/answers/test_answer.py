"""The answer to *How will you make it?*: its numbers against closed forms, and its words."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    Answer,
    Blank,
    Directions,
    Flatteners,
    answer,
    answer_words,
    eased_words,
    edge_words,
    equal_area_words,
    thin_words,
    thinnest_words,
)
from app.job.answers.answer import edge_changes, place_words
from geometry.blank import FlatPanel, Work, laid_along
from geometry.mesh import TriMesh
from geometry.pattern import thickness_at_vertices
from tests.bodies import cylinder_sheet, dome

KEPT = Flatteners()
CAP = dome(150.0, 0.6, 20)


def blank_of(mesh: TriMesh, work: Work | None = None) -> Blank:
    asked = Work() if work is None else work
    flat = laid_along(KEPT.laid(mesh, asked))
    return Blank("cap", mesh, np.zeros(len(mesh.faces), bool), (), flat, asked)


def answer_of(mesh: TriMesh, work: Work | None = None) -> Answer:
    return answer(blank_of(mesh, work), sheet_mm=1.6, trim_mm=12.7)


# ---- the numbers


def test_a_cap_is_round_and_by_equal_area_as_wide_as_its_chord_from_crown_to_rim_twice() -> None:
    """A spherical cap has the area of a disk whose radius is its chord from crown to rim.

    2 pi r^2 (1 - cos a) = pi (2 r sin(a / 2))^2. Facets lie inside: 20 rings are short by
    about (a / 20)^2 / 8 = 1e-4 of it.
    """
    found = answer_of(CAP)
    chord = 2.0 * 150.0 * np.sin(0.3)
    assert found.equal_round_mm == pytest.approx(2.0 * chord, rel=5e-4)
    assert found.equal_round_mm < 2.0 * chord
    assert found.round_mm == pytest.approx(found.net_mm[0], rel=2e-3)
    assert found.cut_mm == (found.net_mm[0] + 25.4, found.net_mm[1] + 25.4)


def test_a_cap_is_thinnest_at_the_crown_and_its_edge_is_taken_up_all_round() -> None:
    """The rim's two lengths are known to the mesh: their difference is what is taken up."""
    found, flat = answer_of(CAP), blank_of(CAP).flat
    assert found.thinnest_at == "at the crown"
    assert found.thickest_at == "at the edge"
    assert found.take_up_mm == pytest.approx(flat.rim_blank - flat.rim_formed, rel=1e-12)
    assert found.let_out_mm == 0.0
    assert found.sheet_mm > found.thinnest_mm >= 1.6 * flat.thickness.min()


def test_a_rolled_sheet_is_not_thinner_anywhere_and_its_edge_stays() -> None:
    """A cylinder unrolls: no length changes, so nothing is thinner and nothing is taken up."""
    found = answer_of(cylinder_sheet(100.0, np.pi / 2, 120.0))
    assert found.thinnest_mm == pytest.approx(1.6, abs=1e-9)
    assert (found.round_mm, found.equal_round_mm) == (None, None)
    assert answer_words(found).endswith(
        "Nowhere thinner than the sheet, 1.6 mm (.063 in). Edge: no change. "
        "Blank the same area as the skin."
    )
    assert "has the same" in equal_area_words(found)


def test_a_saddle_lets_its_edge_out() -> None:
    """Let z = (x^2 - y^2) / 2R bulges neither way: its edge is longer than a flat one."""
    side = np.linspace(-60.0, 60.0, 25)
    x, y = np.meshgrid(side, side, indexing="ij")
    vertices = np.stack([x, y, (x**2 - y**2) / 300.0], -1).reshape(-1, 3)
    at = np.arange(24 * 25).reshape(24, 25)[:, :24].ravel()
    faces = np.concatenate(
        [np.stack([at, at + 25, at + 26], 1), np.stack([at, at + 26, at + 1], 1)]
    )
    found = answer_of(TriMesh(vertices, faces))
    assert found.let_out_mm > 1.0
    assert found.take_up_mm < 0.05 * found.let_out_mm
    assert edge_words(found).startswith("Edge: let out")
    assert found.thinnest_at == "at the edge"


def test_taking_up_less_letting_out_is_the_blanks_edge_less_the_formed_one() -> None:
    """An identity, whatever the pieces; and both ways have places here: a dome cut slanting."""
    flat = blank_of(CAP).flat
    bent = replace(flat, flat_vertices=flat.flat_vertices * [1.1, 0.8])
    taken, let = edge_changes(bent)
    assert taken > 0.0 < let
    assert taken - let == pytest.approx(bent.rim_blank - bent.rim_formed, abs=1e-9)


def test_the_thickness_of_a_sheet_laid_out_a_tenth_larger_all_ways_is_that_much_more() -> None:
    flat = blank_of(CAP).flat
    thicker = replace(flat, stretches=flat.stretches / 1.1)
    np.testing.assert_allclose(
        thickness_at_vertices(thicker), 1.21 * thickness_at_vertices(flat), rtol=1e-12
    )


def test_moving_turning_and_renumbering_change_nothing() -> None:
    turn = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = answer_of(TriMesh(CAP.vertices @ turn.T + [3.0, -80.0, 15.0], CAP.faces))
    told = answer_of(CAP)
    assert moved.take_up_mm == pytest.approx(told.take_up_mm, abs=1e-4)
    assert moved.thinnest_mm == pytest.approx(told.thinnest_mm, abs=1e-6)


# ---- places


def vertex_nearest(flat: FlatPanel, point: tuple[float, float, float]) -> int:
    return int(np.argmin(np.linalg.norm(flat.vertices - np.array(point), axis=1)))


def test_places_are_named_by_depth_and_by_the_end_of_the_tank() -> None:
    flat, ways = blank_of(CAP).flat, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    rim = 150.0 * np.sin(0.6)
    for point, words in (
        ((rim, 0, 0), "at the edge, towards the front"),
        ((-rim, 0, 0), "at the edge, towards the back"),
        ((0, rim, 0), "at the edge, towards the left"),
        ((0, -rim, 0), "at the edge, towards the right"),
        ((0, 0, 150.0), "at the crown"),
    ):
        at = vertex_nearest(flat, (point[0], point[1], point[2] or 150.0 * np.cos(0.6)))
        assert place_words(flat, at, ways) == words
        assert place_words(flat, at) == words.partition(",")[0]
    half = 150.0 * np.sin(0.4)
    at = vertex_nearest(flat, (half, 0.0, 150.0 * np.cos(0.4)))
    assert place_words(flat, at) == "between crown and edge"


# ---- the sentences


EXAMPLE = Answer(
    net_mm=(386.6, 279.6), cut_mm=(412.0, 305.0), may_cut=True, sheet_mm=1.6, thinnest_mm=1.28,
    thinnest_at="at the crown", thickest_mm=1.8, thickest_at="at the edge", take_up_mm=45.7,
    let_out_mm=0.1, blank_area=98000.0, formed_area=100000.0, round_mm=None, equal_round_mm=None,
    is_eased=False, asked_bias=-0.5,
)  # fmt: skip


def test_the_sentence_says_size_thinnest_edge_and_area_in_mm_and_inch() -> None:
    assert answer_words(EXAMPLE) == (
        "Cut 412 x 305 mm (16 1/4 x 12 in). Thinnest 1.28 mm (.050 in) at the crown. "
        "Edge: take up 46 mm (1 13/16 in) all round. Blank 98 of every 100 of skin area."
    )
    assert answer_words(EXAMPLE, "in").startswith(
        "Cut 16 1/4 x 12 in (412 x 305 mm). Thinnest .050"
    )


def test_what_may_not_be_cut_yet_is_not_told_to_be_cut() -> None:
    words = answer_words(replace(EXAMPLE, may_cut=False))
    assert not words.startswith("Cut")
    assert "not to be cut yet" in words


def test_both_ways_along_the_edge_are_told_apart_unless_one_is_nothing_beside_the_other() -> None:
    both = replace(EXAMPLE, let_out_mm=12.0)
    assert edge_words(both) == (
        "Edge: take up 46 mm (1 13/16 in), and let out 12 mm (1/2 in) elsewhere."
    )
    assert edge_words(replace(EXAMPLE, take_up_mm=0.4, let_out_mm=0.3)) == "Edge: no change."


def test_by_equal_area_a_round_panel_is_told_across_and_others_by_how_much_they_differ() -> None:
    assert "2 of every 100 less" in equal_area_words(EXAMPLE)
    words = equal_area_words(replace(EXAMPLE, round_mm=400.0, equal_round_mm=404.0))
    assert words.endswith("404 mm (15 7/8 in) across; this one is 400 mm (15 3/4 in) across.")
    alike = replace(EXAMPLE, round_mm=400.0, equal_round_mm=400.3)
    assert equal_area_words(alike, "in").endswith(
        "across; this one is the same to what a tape tells."
    )


def test_thinner_than_the_makers_least_is_warned_of_with_its_place() -> None:
    assert thin_words(EXAMPLE, 1.28) == ""
    assert thin_words(EXAMPLE, 1.3) == "Thinner than your least of 1.3 mm (.051 in), at the crown."
    assert thinnest_words(EXAMPLE) == "Thinnest 1.28 mm (.050 in) at the crown."


def test_how_far_a_panel_let_it_go_is_told_only_where_it_did_not_let_all() -> None:
    assert eased_words(EXAMPLE) == ""
    eased = replace(EXAMPLE, is_eased=True)
    assert eased_words(eased) == "Laid out as far towards stretch as this panel lets."
    assert "towards shrink" in eased_words(replace(eased, asked_bias=0.5))


def test_no_words_of_the_model_stand_before_the_maker() -> None:
    told = " ".join(
        [answer_words(EXAMPLE), equal_area_words(EXAMPLE), eased_words(EXAMPLE),
         thin_words(EXAMPLE, 1.5)]
    )  # fmt: skip
    for word in ("%", "percent", "strain", "bias", "solver", "residual"):
        assert word not in told.lower()

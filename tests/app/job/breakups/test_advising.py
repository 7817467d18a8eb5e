"""Advice raised about seams by itself: told with its reason, hushed, and told again."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    JobState,
    SeamNote,
    advice_headline,
    advice_reason,
    made,
    note_of,
    panel_warnings,
    raised_advice,
    task_for,
    too_large,
    with_raised_hushed,
    with_raised_told,
    with_result,
    with_seams,
)
from app.job.breakups.advice_words import advice_place_words
from geometry.breakups import (
    Advice,
    EndsApartAdvice,
    InsideCornerAdvice,
    LowCrownAdvice,
    NearLineAdvice,
    TooLargeAdvice,
)
from geometry.metal import StockSheet
from tests.app.job.small_tank import carried, straight_seam

HERE = np.zeros(3)
ONE_OF_EACH: tuple[Advice, ...] = (
    LowCrownAdvice("top", HERE, 210.0, 800.0),
    LowCrownAdvice("top", HERE, 210.0, float("inf")),
    InsideCornerAdvice("top", HERE, 1.2, 30.0),
    NearLineAdvice("top", HERE, 0, 4.0, 60.0, False),
    NearLineAdvice("top", HERE, 0, 0.0, 12.0, True),
    EndsApartAdvice("top", HERE, 9.0, ""),
    EndsApartAdvice("top", HERE, 4.0, "nose"),
    TooLargeAdvice("", HERE, "left side", (2600.0, 900.0), (2500.0, 1250.0)),
)


def with_stub() -> JobState:
    """Return the small tank with a seam that stops in the skin, and the advice about it."""
    state = carried()
    whole = straight_seam("left rail", 14.0)
    half = replace(whole, points=whole.points[: len(whole.points) // 2 + 1])
    state = with_seams(state, (half,))
    task = task_for(state, "Advice")
    assert task is not None
    return with_result(state, task, task.run())


@pytest.mark.parametrize("advice", ONE_OF_EACH)
def test_every_kind_says_whose_it_is_what_there_is_and_why_in_mm_and_inch(advice: Advice) -> None:
    headline, reason = advice_headline(advice), advice_reason(advice)
    assert headline.startswith(("top: ", "left side: "))
    assert " in)" in headline
    assert reason.count(".") >= 1
    assert advice_place_words(advice)
    assert not any(word in reason + headline for word in ("%", "solver", "curvature", "geodesic"))
    assert advice_headline(advice, "in") != headline


def test_a_line_crossed_and_a_line_beside_have_reasons_of_their_own() -> None:
    beside, across = ONE_OF_EACH[3:5]
    assert advice_reason(beside) != advice_reason(across)
    assert "square to it" in advice_reason(across)


def test_a_seam_that_stops_in_the_skin_is_told_hushed_and_told_again() -> None:
    state = with_stub()
    told = raised_advice(state)
    loose = [each for each in told if isinstance(each.advice, EndsApartAdvice)]
    assert len(loose) == 1
    assert not loose[0].is_hushed
    quiet = with_raised_hushed(state, loose[0])
    assert note_of(quiet, "left rail").hushed == ("ends apart",)
    assert [each.is_hushed for each in raised_advice(quiet) if each.kind == "ends apart"] == [True]
    assert made(quiet, "Advice") is made(state, "Advice"), "hushing puts nothing out of date"
    again = with_raised_told(quiet, loose[0])
    assert again.seam_notes == ()
    assert not any(each.is_hushed for each in raised_advice(again))


def test_advice_about_seams_that_were_moved_since_is_not_told() -> None:
    state = with_seams(with_stub(), (straight_seam("left rail", 16.0),))
    assert raised_advice(state) == ()


def test_a_panel_too_large_for_every_sheet_is_told_with_the_largest() -> None:
    figures = made(carried(), "Judged")
    small, large = StockSheet("small", 30.0, 40.0), StockSheet("larger", 35.0, 300.0)
    told = too_large(figures, (small, large))
    assert {each.panel for each in told} == {
        panel.name for panel in figures.panels if min(panel.cut_mm) > 35.0
    }
    assert told
    assert all(each.sheet_mm == (300.0, 35.0) for each in told)
    assert too_large(figures) == ()


def test_what_there_is_to_look_at_in_a_panel_is_told_in_a_few_words() -> None:
    panel = made(carried(), "Judged").panels[0]
    assert panel_warnings(panel) == ()
    thin = panel_warnings(panel, least_mm=panel.thinnest_mm + 0.1)
    assert len(thin) == 1
    assert thin[0].startswith("thinner than ")
    assert panel_warnings(panel, sheets=(StockSheet("scrap", 20.0, 20.0),)) == (
        "too large for any stock sheet",
    )


def test_an_empty_note_keeps_nothing() -> None:
    assert not SeamNote("top").says_something

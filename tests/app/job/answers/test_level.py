"""By what the tank stands level: the bottom edge, picks, what was typed, or nothing at all."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import DatumChoice, JobState, carried_through, level_sure_words, made, with_directions
from app.job.choices.state import Directions
from tests.app.job.small_tank import HALF_ANGLE, RADIUS_MM, decided

PLANE = ((0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
FRONT, UP = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
OTHERWISE = " The frame may hold the tank otherwise."


def stood(choice: DatumChoice) -> JobState:
    return carried_through(replace(decided(), datum=choice), "Datum")


def test_by_the_flat_bottom_edge_it_says_how_sure_that_is() -> None:
    """The dome is cut off flat: surer than is told of an edge."""
    state = stood(DatumChoice(how="given", plane=PLANE, up=UP, front=FRONT))
    sure = made(state, "Datum").level_spread_rad
    assert sure < np.radians(0.1)
    told = level_sure_words(state)
    assert told == "Level is that of the flat bottom edge, sure to about 0.1°." + OTHERWISE


def test_by_picks_it_is_as_sure_as_they_lie_far_apart() -> None:
    low, reach = RADIUS_MM * np.cos(HALF_ANGLE), RADIUS_MM * np.sin(HALF_ANGLE)
    picks = ((reach, 0.0, low), (-reach, 0.0, low))
    choice = DatumChoice(
        how="given", plane=PLANE, level="picks", level_picks=picks, up=UP, front=FRONT
    )
    state = stood(choice)
    degrees = np.degrees(made(state, "Datum").level_spread_rad)
    assert degrees > 0.15
    assert f"of the heights picked, sure to about {degrees:.1f}°." in level_sure_words(state)


@pytest.mark.parametrize("datum", [True, False])
def test_as_typed_it_says_so(datum: bool) -> None:
    typed = DatumChoice(how="given", plane=PLANE, level="given", up=UP, front=FRONT)
    state = stood(typed) if datum else decided()
    assert level_sure_words(state) == "Level is as up was given." + OTHERWISE


def test_where_nobody_said_it_is_called_a_guess() -> None:
    state = with_directions(decided(), Directions())
    assert level_sure_words(state).startswith("Level is a guess: nobody said which way is up.")

"""Sheet sums of a job: nothing made gives nothing, an unknown metal is not weighed."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    FittingsChoice,
    JobState,
    RestOfTank,
    TunnelLaid,
    carried_through,
    made,
    next_tasks,
    pieces_besides,
    sheets_of_job,
    with_directions,
    with_metal,
    with_result,
)
from app.job.answers.sheet_sums import largest_face_of
from app.job.choices.state import Directions
from tests.app.job.small_tank import RECESSED, TUNNEL, decided


@pytest.fixture(scope="module")
def state() -> JobState:
    """A small skin with a tunnel of thinner sheet and a recessed filler; no panels cut."""
    begun = carried_through(decided(), "Surface")
    begun = with_directions(begun, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    rest = RestOfTank(tunnel=TUNNEL, fittings=FittingsChoice(RECESSED))
    begun = carried_through(replace(begun, rest=rest, seams=()), "Stood")
    for task in next_tasks(begun):
        if task.step in ("Tunnel", "Fittings"):
            begun = with_result(begun, task, task.run())
    return begun


def test_a_job_without_blanks_takes_no_sheet_and_has_no_face() -> None:
    assert sheets_of_job(JobState()) == ()
    assert pieces_besides(JobState()) == ()
    assert largest_face_of(JobState(), 6.9) is None


def test_a_metal_nobody_knows_is_not_weighed() -> None:
    state = JobState()
    other = with_metal(state, type(state.metal)(alloy="unobtainium"))
    assert sheets_of_job(other) == ()


def test_pieces_are_told_on_the_sheet_they_are_cut_from(state: JobState) -> None:
    laid: TunnelLaid = made(state, "Tunnel")
    own, thin = sheets_of_job(state)
    assert (own.thickness_mm, thin.thickness_mm) == (state.metal.thickness_mm, 0.8)
    assert [piece.name for piece in own.blanks] == ["filler recess blank"]
    assert [piece.name for piece in thin.blanks] == ["tunnel net"]
    (net,) = laid.tunnel.pieces
    assert thin.blanks[0].width_mm == pytest.approx(np.ptp(net.outline[:, 0]), abs=1e-9)
    assert thin.blanks[0].height_mm == pytest.approx(np.ptp(net.outline[:, 1]), abs=1e-9)
    assert pieces_besides(state) == (*thin.blanks, *own.blanks)


def test_a_round_blank_weighs_its_disc_and_takes_the_square_about_it(state: JobState) -> None:
    """Disc: density times pi d^2 / 4 times thickness; its rectangle the square of d."""
    own = sheets_of_job(state)[0]
    across = made(state, "Fittings").filler.recess.blank_mm
    disc = np.pi * across**2 / 4.0
    assert own.blank_kg == pytest.approx(
        own.metal.density.value * disc * own.thickness_mm * 1e-6, rel=1e-12
    )
    assert own.rectangle_mm2 == pytest.approx(across**2, rel=1e-12)

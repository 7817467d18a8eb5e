"""The seat face held: what was found of it becomes a decision."""

from dataclasses import replace

from app.job.choices import JobState, SeatChoice
from app.job.edits.rest import with_rest
from app.job.rest import Seat, held_seat


def with_seat_held(state: JobState, seat: Seat) -> JobState:
    """Return the job with the seat face as it is now held: plane and edge become its own numbers.

    Parameters
    ----------
    state : JobState
    seat : Seat
        The step's result.
    """
    choice = state.rest.seat or SeatChoice()
    return with_rest(state, seat=replace(choice, held=held_seat(seat)))

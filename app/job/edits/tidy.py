"""Changes to what of the scan is the tank, and to what becomes of its holes: pure functions."""

from dataclasses import replace
from typing import Any

from app.job.choices import Crop, Fill, JobState
from geometry.datum import Point3


def with_piece_kept(state: JobState, place: Point3) -> JobState:
    """Return the job keeping the piece a point lies on, whatever the usual rule says."""
    return _decided(state, place, into="kept", out_of="dropped")


def with_piece_dropped(state: JobState, place: Point3) -> JobState:
    """Return the job leaving out the piece a point lies on."""
    return _decided(state, place, into="dropped", out_of="kept")


def with_crop(state: JobState, crop: Crop) -> JobState:
    """Return the job keeping only what lies in one more part of space."""
    return _tidied(state, crops=(*state.tidy.crops, crop))


def without_crop(state: JobState, at: int) -> JobState:
    """Return the job without its crop number `at`, counted from 0."""
    return _tidied(state, crops=state.tidy.crops[:at] + state.tidy.crops[at + 1 :])


def with_cut(state: JobState, cut: Crop) -> JobState:
    """Return the job with one more part of space taken out of the scan."""
    return _tidied(state, cuts=(*state.tidy.cuts, cut))


def without_cut(state: JobState, at: int) -> JobState:
    """Return the job without its cut-out number `at`, counted from 0."""
    return _tidied(state, cuts=state.tidy.cuts[:at] + state.tidy.cuts[at + 1 :])


def with_fill(state: JobState, fill: Fill) -> JobState:
    """Return the job with holes nobody decided about treated another way."""
    return _tidied(state, fill=fill)


def with_hole_filled(state: JobState, centre: Point3) -> JobState:
    """Return the job filling the hole about a place."""
    return _decided(state, centre, into="filled", out_of="left")


def with_hole_left(state: JobState, centre: Point3) -> JobState:
    """Return the job leaving the hole about a place open."""
    return _decided(state, centre, into="left", out_of="filled")


def with_hole_as_usual(state: JobState, centre: Point3) -> JobState:
    """Return the job with the hole about a place treated as holes are by themselves."""
    return _tidied(
        state,
        filled=_without(state.tidy.filled, centre),
        left=_without(state.tidy.left, centre),
    )


def _decided(state: JobState, place: Point3, *, into: str, out_of: str) -> JobState:
    """Return the job with a place in one list of decisions and no more in the contrary one."""
    here, there = getattr(state.tidy, into), getattr(state.tidy, out_of)
    return _tidied(state, **{into: _with(here, place), out_of: _without(there, place)})


def _tidied(state: JobState, **changed: Any) -> JobState:
    return replace(state, tidy=replace(state.tidy, **changed))


def _with(places: tuple[Point3, ...], place: Point3) -> tuple[Point3, ...]:
    return places if place in places else (*places, place)


def _without(places: tuple[Point3, ...], place: Point3) -> tuple[Point3, ...]:
    return tuple(other for other in places if other != place)

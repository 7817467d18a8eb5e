"""Sheet sums of a job: nothing made gives nothing, an unknown metal is not weighed."""

from app.job import JobState, with_metal
from app.job.sheet_sums import largest_face_of, sheet_use_of


def test_a_job_without_blanks_takes_no_sheet_and_has_no_face() -> None:
    assert sheet_use_of(JobState()) is None
    assert largest_face_of(JobState(), 6.9) is None


def test_a_metal_nobody_knows_is_not_weighed() -> None:
    state = JobState()
    other = with_metal(state, type(state.metal)(alloy="unobtainium"))
    assert sheet_use_of(other) is None

"""Decisions between scan and seams: edits are pure, and the job file gives every one back."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    BallCrop,
    BrokenJobFileError,
    DatumChoice,
    HalfSpaceCrop,
    JobState,
    LassoCrop,
    LineChoice,
    SidesChoice,
    SizeChoice,
    TidyChoice,
    Zone,
    open_job,
    save_job,
    with_crop,
    with_cut,
    with_hole_as_usual,
    with_hole_filled,
    with_hole_left,
    with_level,
    with_line_drawn,
    with_line_locked,
    with_line_rejected,
    with_odd_part,
    with_on_centre,
    with_pairs,
    with_piece_dropped,
    with_piece_kept,
    with_plane,
    with_scan,
    with_side_copied,
    with_zone,
    without_crop,
    without_cut,
    without_line_choice,
    without_odd_part,
    without_on_centre,
    without_pair,
    without_zone,
)
from app.job.files.choices_json import choices_facts
from geometry.datum import Allowance
from tests.app.job.files.test_job_file import with_field
from tests.app.job.small_tank import dome_scan

A, B, C = (0.0, 1.0, 2.0), (3.0, 4.0, 5.0), (6.0, 7.0, 8.5)
LASSO = LassoCrop((A, B, C), (0.0, 0.0, -1.0), inside=False, front_only=True)


def everything() -> JobState:
    """Return a job in which every decision before the seams is taken."""
    return replace(
        JobState(),
        size=SizeChoice("mm", allowed=Allowance(0.5, 0.001)),
        tidy=TidyChoice(
            (A,), (B,), (HalfSpaceCrop(A, (0.0, 0.0, 1.0)), LASSO), (BallCrop(C, 12.0),), "none",
            (A,), (B, C),
        ),
        datum=DatumChoice(
            "given", (A,), ((A, B), (B, C)), (A, (0.0, 1.0, 0.0)), "picks", (A, B, C),
            (0.0, 0.0, 1.0), (1.0, 0.0, 0.0),
        ),
        sides=SidesChoice("left", (Zone(A, 20.0, "right"),), (Zone(B, 15.0, "left"),)),
        lines=(
            LineChoice((A, B, C)), LineChoice((A, C), "rejected"), LineChoice((B, C), drawn=True),
        ),
        find_lines=True,
    )  # fmt: skip


def test_a_saved_job_gives_every_decision_back(tmp_path: Path) -> None:
    job = everything()
    save_job(job, tmp_path / "all.lowcrown")
    again = open_job(tmp_path / "all.lowcrown")
    assert again == replace(job, results=again.results) or choices_facts(again) == choices_facts(
        job
    )
    for name in ("size", "tidy", "datum", "sides", "lines", "find_lines"):
        assert getattr(again, name) == getattr(job, name), name


def _put(*path: str | int, value: object) -> Callable[[dict[str, Any]], None]:
    def change(found: dict[str, Any]) -> None:
        at: Any = found
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = value

    return change


@pytest.mark.parametrize(
    "change",
    [
        _put("tidy", "fill", value="some"),
        _put("tidy", "crops", 0, "kind", value="sphere"),
        _put("tidy", "crops", 0, "normal", value=[0, 0, 0]),
        _put("tidy", "cuts", 0, "radius_mm", value=-1),
        _put("tidy", "kept", value=[[1, 2]]),
        _put("datum", "how", value="guess"),
        _put("datum", "pairs", value=[[[0, 0, 0]]]),
        _put("sides", "copy", value="both"),
        _put("sides", "zones", 0, "radius_mm", value=0),
        _put("lines", 0, "points", value=[[0, 0, 0]]),
        _put("lines", 0, "state", value="maybe"),
        _put("allowed", "mm", value="1"),
        _put("find_lines", value=1),
    ],
)
def test_a_decision_that_is_not_one_is_refused(
    tmp_path: Path, change: Callable[[dict[str, Any]], None]
) -> None:
    path = tmp_path / "bad.lowcrown"
    save_job(everything(), path)
    with_field(path, change)
    with pytest.raises(BrokenJobFileError):
        open_job(path)


def test_a_job_of_the_second_schema_opens_as_it_was_made(tmp_path: Path) -> None:
    """Nothing cropped, no datum, no side copied, no line held."""
    path = tmp_path / "old.lowcrown"
    save_job(JobState(), path)

    def older(found: dict[str, Any]) -> None:
        found["schema"] = 2
        for name in choices_facts(JobState()):
            del found[name]

    with_field(path, older)
    again = open_job(path)
    assert choices_facts(again) == choices_facts(JobState())


def test_a_piece_or_a_hole_has_one_decision_at_a_time() -> None:
    job = with_piece_dropped(with_piece_kept(JobState(), A), A)
    assert (job.tidy.kept, job.tidy.dropped) == ((), (A,))
    job = with_hole_left(with_hole_filled(JobState(), A), A)
    assert (job.tidy.filled, job.tidy.left) == ((), (A,))
    assert with_hole_as_usual(job, A).tidy == TidyChoice()


def test_crops_and_cuts_come_and_go() -> None:
    job = with_cut(with_crop(JobState(), LASSO), BallCrop(A, 3.0))
    assert (job.tidy.crops, job.tidy.cuts) == ((LASSO,), (BallCrop(A, 3.0),))
    assert without_cut(without_crop(job, 0), 0).tidy == TidyChoice()


def test_picks_make_the_datum_theirs() -> None:
    job = with_pairs(with_on_centre(JobState(), A), (B, C))
    assert job.datum == DatumChoice("picks", (A,), ((B, C),))
    more = with_pairs(with_on_centre(job, B, C), (A, B), (C, A))
    assert more.datum == DatumChoice("picks", (A, B, C), ((B, C), (A, B), (C, A)))
    assert without_pair(without_on_centre(job, 0), 0).datum == DatumChoice("picks")
    assert with_plane(job, A, B).datum.how == "given"


def test_the_level_is_picked_or_up_is_said() -> None:
    picked = with_level(JobState(), "picks", (A, B))
    assert picked.datum == DatumChoice(level="picks", level_picks=(A, B))
    assert with_level(picked, "given", up=B).datum == DatumChoice(level="given", up=B)


def test_zones_and_odd_parts_come_and_go() -> None:
    job = with_odd_part(
        with_zone(with_side_copied(JobState(), "right"), Zone(A, 9.0)), Zone(B, 5.0)
    )
    assert job.sides == SidesChoice("right", (Zone(A, 9.0),), (Zone(B, 5.0),))
    assert without_odd_part(without_zone(job, 0), 0).sides == SidesChoice("right")


def test_a_line_is_locked_or_rejected_never_both() -> None:
    job = with_line_rejected(with_line_locked(JobState(), (A, B)), (A, B))
    assert job.lines == (LineChoice((A, B), "rejected"),)
    assert without_line_choice(job, 0).lines == ()


def test_a_line_made_of_others_takes_the_place_of_those_drawn_and_bars_those_found() -> None:
    job = with_line_drawn(with_line_locked(JobState(), (A, B)), (B, C))
    assert job.lines == (LineChoice((A, B)), LineChoice((B, C), drawn=True))
    joined = LineChoice((A, B, C), drawn=True)
    after = with_line_drawn(job, (A, B, C), made_of=((A, B), (B, C)))
    assert after.lines == (LineChoice((A, B), "rejected"), joined)
    offered = with_line_drawn(JobState(), (A, C), made_of=((A, B),))
    assert offered.lines == (LineChoice((A, B), "rejected"), LineChoice((A, C), drawn=True))


def test_a_unit_the_file_says_is_the_jobs_and_is_kept(tmp_path: Path) -> None:
    kept = dome_scan()
    scan = replace(kept, raw=replace(kept.raw, unit="cm"))
    state = with_scan(JobState(), scan)
    assert state.size == SizeChoice("cm")
    save_job(state, tmp_path / "cm.lowcrown")
    again = open_job(tmp_path / "cm.lowcrown").scan
    assert again is not None
    assert again.raw.unit == "cm"
    assert with_scan(state, kept).size == SizeChoice()

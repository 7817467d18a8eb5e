"""A revision goes up where paper would differ, and only there."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from app.job import (
    JobState,
    Price,
    Print,
    is_print_current,
    open_job,
    paper_digest,
    save_job,
    superseded,
    with_anneal,
    with_card,
    with_metal,
    with_model,
    with_name,
    with_price,
    with_print,
    with_prints_of,
    with_trim,
)
from app.job.choices.state import MetalChoice
from app.job.edits import prints as printing_module
from tests.app.job.edits.test_scan_to_blanks import EDITS
from tests.app.job.small_tank import carried, decided

MONDAY, FRIDAY = date(2026, 11, 23), date(2026, 11, 27)


def test_the_first_print_keeps_the_revision_and_takes_the_day() -> None:
    job = with_print(decided(), MONDAY)
    assert (job.revision, job.revised) == (1, "2026-11-23")
    assert job.prints == (Print(1, "2026-11-23", paper_digest(decided())),)
    assert is_print_current(job)
    assert not is_print_current(decided())


def test_printed_again_unchanged_it_is_the_same_job_whatever_the_day() -> None:
    job = with_print(decided(), MONDAY)
    assert with_print(job, FRIDAY) is job


@pytest.mark.parametrize("name", sorted(set(EDITS) - {"card", "price", "revision"}))
def test_every_change_that_reaches_paper_puts_the_revision_up(name: str) -> None:
    job = with_print(carried(), MONDAY)
    changed = EDITS[name][0](job)
    assert not is_print_current(changed)
    after = with_print(changed, FRIDAY)
    assert (after.revision, after.revised) == (2, "2026-11-27")
    assert [each.revision for each in after.prints] == [1, 2]
    assert superseded(after) == job.prints


def test_card_and_price_change_no_pattern() -> None:
    job = with_print(decided(), MONDAY)
    noted = with_price(with_card(job, with_anneal(job.card, "top")), Price(7.0))
    assert with_print(noted, FRIDAY) is noted


def test_a_change_taken_back_before_printing_is_none() -> None:
    job = with_print(decided(), MONDAY)
    assert with_print(with_trim(with_trim(job, 20.0), job.trim_mm), FRIDAY).revision == 1


def test_a_change_taken_back_after_printing_is_a_revision_of_its_own() -> None:
    """Revision 3, though it is as revision 1: the latest on the bench is 2."""
    job = with_print(with_trim(with_print(decided(), MONDAY), 20.0), MONDAY)
    back = with_print(with_trim(job, decided().trim_mm), FRIDAY)
    assert [each.revision for each in back.prints] == [1, 2, 3]
    assert back.prints[0].digest == back.prints[2].digest


def test_no_undo_takes_paper_back() -> None:
    before = with_print(decided(), MONDAY)
    printed = with_print(with_trim(before, 20.0), MONDAY)
    undone = with_prints_of(before, printed)
    assert undone.trim_mm == before.trim_mm
    assert with_print(undone, FRIDAY).revision == 3


def test_a_revision_put_up_by_hand_counts() -> None:
    job = with_print(decided(), MONDAY)
    by_hand = replace(job, revision=3)
    assert with_print(by_hand, FRIDAY).revision == 3
    assert with_print(with_trim(by_hand, 20.0), FRIDAY).revision == 3


def test_a_revision_put_down_by_hand_is_never_given_twice() -> None:
    job = with_print(with_trim(with_print(decided(), MONDAY), 20.0), MONDAY)
    assert with_print(replace(job, revision=1), FRIDAY).revision == 3


def test_another_version_of_the_program_may_draw_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    job = with_print(decided(), MONDAY)
    monkeypatch.setattr(printing_module, "__version__", "0.0.0")
    assert with_print(job, FRIDAY).revision == 2


def test_a_job_opened_again_is_still_printed(tmp_path: Path) -> None:
    path = tmp_path / "job.lowcrown"
    save_job(with_print(decided(), MONDAY), path)
    again = open_job(path)
    assert is_print_current(again)
    assert with_print(again, FRIDAY) is again


def test_names_and_numbers_all_tell_jobs_apart() -> None:
    jobs = [
        JobState(),
        with_name(JobState(), "other"),
        with_model(JobState(), "225"),
        with_metal(JobState(), MetalChoice(1.2)),
        with_trim(JobState(), 12.700001),
    ]
    assert len({paper_digest(job) for job in jobs}) == len(jobs)

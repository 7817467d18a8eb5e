"""The log and the crash report: written where they belong, the job kept, never a second crash."""

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from app import log
from app.job import JobState, open_job
from app.job.files.decisions_json import decisions
from app.log import logger, start_log, stop_log, write_crash_report
from app.version import __version__
from tests.app.job.small_tank import decided


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give the log a folder of its own, and close it after."""
    place = tmp_path / "log"
    monkeypatch.setattr(log, "log_folder", lambda: place)
    yield place
    stop_log()


def raised(text: str) -> Exception:
    try:
        raise RuntimeError(text)
    except RuntimeError as error:
        return error


def test_what_is_logged_stands_in_the_file_with_its_level(folder: Path) -> None:
    path = start_log()
    assert path == folder / "lowcrown.log"
    logger.info("opened a scan")
    logger.debug("not wanted")
    stop_log()
    logger.error("after the end")
    text = path.read_text(encoding="utf-8")
    assert "INFO opened a scan" in text
    assert "not wanted" not in text
    assert "after the end" not in text
    assert logger.handlers == []


def test_a_full_log_gives_way_to_a_new_one_and_three_old_ones_stay(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log, "LARGEST_LOG", 200)
    start_log()
    for number in range(40):
        logger.info("line %d", number)
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["lowcrown.log", *(f"lowcrown.log.{k}" for k in (1, 2, 3))]
    assert "line 39" in (folder / "lowcrown.log").read_text(encoding="utf-8")


def test_where_no_log_can_be_written_the_program_goes_on(folder: Path) -> None:
    folder.write_text("a file where the folder should be")
    before = list(logger.handlers)
    assert start_log() is None
    assert logger.handlers == before
    assert write_crash_report(raised("x"), "scan", decided()) is None


def test_a_crash_report_says_what_was_done_and_where_it_broke_and_the_job_is_kept(
    folder: Path,
) -> None:
    report = write_crash_report(raised("a bolt fell in"), "lay flat", decided())
    assert report is not None
    assert report.parent == folder
    text = report.read_text(encoding="utf-8")
    assert f"Lowcrown {__version__}" in text
    assert "While: lay flat" in text
    assert "Traceback" in text
    assert "in raised" in text
    assert text.rstrip().endswith("RuntimeError: a bolt fell in")
    kept = open_job(report.with_suffix(".lowcrown"))
    assert decisions(kept) == decisions(decided())


@pytest.mark.parametrize("state", [None, JobState()])
def test_without_a_scan_there_is_no_job_to_keep(folder: Path, state: JobState | None) -> None:
    report = write_crash_report(raised("x"), "start", state)
    assert report is not None
    assert list(folder.iterdir()) == [report]


def test_two_crashes_are_two_reports(folder: Path) -> None:
    reports = {write_crash_report(raised("x"), "start", None) for _ in range(5)}
    assert len(reports) == 5


def test_a_job_that_cannot_be_kept_does_not_hide_the_crash(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(state: JobState, path: Path) -> None:
        raise TypeError("the job itself is what is broken")

    monkeypatch.setattr(log, "save_job", broken)
    report = write_crash_report(raised("x"), "start", decided())
    assert report is not None
    assert report.exists()


def test_text_that_is_not_utf8_can_stand_in_a_crash_report() -> None:
    report = write_crash_report(raised("tank\udcff.stl"), "scan", None)
    assert report is not None
    assert "tank" in report.read_text(encoding="utf-8")


def test_the_crash_is_in_the_log_too(folder: Path) -> None:
    path = start_log()
    assert path is not None
    report = write_crash_report(raised("a bolt fell in"), "lay flat", None)
    stop_log()
    text = path.read_text(encoding="utf-8")
    assert "lay flat" in text
    assert str(report) in text


def test_the_log_is_not_said_twice_on_the_screen() -> None:
    start_log()
    assert logger.propagate is False
    assert logger.level == logging.INFO

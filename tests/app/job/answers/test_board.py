"""The board tells what the job files hold, no more; a broken one spoils no other."""

import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from app.job import (
    JobState,
    NewerJobFileError,
    NotAJobFileError,
    board,
    save_job,
    with_card,
    with_model,
    with_name,
    with_print,
    with_stage_state,
    with_trim,
)
from app.job.files.decisions_json import SCHEMA
from tests.app.job.files.test_job_file import with_field
from tests.app.job.small_tank import decided

DAY = date(2026, 11, 26)


def test_every_tank_has_its_next_step_and_its_latest_revision(tmp_path: Path) -> None:
    job = with_model(decided(), "225")
    card = job.card
    for at in range(7):
        card = with_stage_state(card, at, "done")
    job = with_card(job, with_stage_state(card, 7, "waiting", "metal"))
    printed = with_print(with_trim(with_print(job, DAY), 20.0), DAY)
    save_job(printed, tmp_path / "b.lowcrown")
    save_job(with_name(JobState(), "fresh"), tmp_path / "A.lowcrown")
    (tmp_path / "notes.txt").write_text("no job")
    fresh, tank = board(tmp_path)
    assert (fresh.name, fresh.next_step, fresh.latest) == ("fresh", "take the order", None)
    assert fresh.print_words == "not printed"
    assert (tank.name, tank.model) == ("small dome", "225")
    assert tank.next_step == "cut blanks: waiting for metal"
    assert tank.latest == printed.prints[1]
    assert tank.superseded == printed.prints[:1]
    assert not tank.has_changed


def test_a_job_changed_since_its_print_says_so_and_one_noted_on_does_not(tmp_path: Path) -> None:
    printed = with_print(decided(), DAY)
    save_job(with_trim(printed, 20.0), tmp_path / "changed.lowcrown")
    save_job(
        with_card(printed, replace(printed.card, note="look here")), tmp_path / "noted.lowcrown"
    )
    changed, noted = board(tmp_path)
    assert changed.has_changed
    assert not noted.has_changed
    assert "changed since" in changed.print_words


def test_a_broken_file_has_a_row_with_its_trouble(tmp_path: Path) -> None:
    save_job(decided(), tmp_path / "c good.lowcrown")
    (tmp_path / "a text.lowcrown").write_text("no zip")
    save_job(decided(), tmp_path / "b newer.lowcrown")
    with_field(tmp_path / "b newer.lowcrown", lambda found: found.update(schema=SCHEMA + 1))
    (tmp_path / "d folder.lowcrown").mkdir()
    text, newer, good, folder = board(tmp_path)
    assert isinstance(text.trouble, NotAJobFileError)
    assert isinstance(newer.trouble, NewerJobFileError)
    assert isinstance(folder.trouble, OSError)
    assert (text.name, text.print_words) == ("a text", "")
    assert good.trouble is None


def test_a_damaged_scan_does_not_matter_to_the_board(tmp_path: Path) -> None:
    """Of a file only its decisions are read."""
    path = tmp_path / "job.lowcrown"
    save_job(decided(), path)
    with zipfile.ZipFile(path) as archive:
        entry = archive.getinfo("scan/vertices.npy")
    content = bytearray(path.read_bytes())
    content[entry.header_offset + 200] ^= 0xFF
    path.write_bytes(bytes(content))
    assert board(tmp_path)[0].trouble is None


def test_a_folder_that_is_none_is_the_systems_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        board(tmp_path / "gone")
    assert board(tmp_path) == ()

"""Squares of a worked grid read back by command, from a job file alone."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from app.command_line import run
from app.exports import marked_out_as_shown
from app.job import JobState, made, save_job, with_print, with_work
from app.settings import Settings
from geometry.blank import Work
from geometry.pattern import formed_readings
from tests.app.job.small_tank import carried, decided
from tests.app.test_command_line import TOP

TODAY = date(2026, 11, 26)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the dome's job file, printed once."""
    path = tmp_path_factory.mktemp("jobs") / "dome.lowcrown"
    save_job(with_print(decided(), TODAY), path)
    return path


def formed(state: JobState, panel: str, squares: list[str]) -> list[str]:
    """Return squares as they read on a panel formed just as its pattern asks."""
    blank = made(state, "Blanks", panel)
    pattern = marked_out_as_shown(
        made(state, "Paper", panel), blank.flat, show="mm", sheet_mm=1.6,
        least_mm=Settings().least_thickness_mm,
    )  # fmt: skip
    return [
        f"{each.square} {_typed(*each.along_mm, *each.across_mm)} / {_typed(*each.diagonals_mm)}"
        for each in formed_readings(blank.flat, pattern, squares)
        if each.diagonals_mm is not None
    ]


def _typed(*lengths: float) -> str:
    return " ".join(f"{length:.4f}" for length in lengths)


def test_a_panel_formed_as_asked_reads_back_what_the_pattern_asks(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lengths typed to 0.0001 mm of 25: stretches come back to 1e-4, other squares of the job's."""
    words = formed(carried(), "top", ["B1", "B2"])
    assert run(["readings", str(job), "top", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    schema = json.loads((TOP / "app/schemas/readings.schema.json").read_text())
    jsonschema.validate(found, schema)
    assert (found["panel"], found["side"], found["revision"]) == ("top", 25.0, 1)
    assert found["print_is_current"] is True
    for read in found["squares"]:
        assert read["stretch"] == pytest.approx(read["asked"], abs=1e-4)
        assert read["thickness_mm"] == pytest.approx(1.6 / np.prod(read["stretch"]))


def test_sides_alone_are_told_per_hundred_and_the_sheet_left(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """26.25 and 24 on 25 mm: 105 x 96 per 100; 1.6 / (1.05 x 0.96) = 1.587 mm."""
    assert run(["readings", str(job), "top", "b1 26,25 24", "--show", "mm"]) == 0
    told = capsys.readouterr().out
    assert "100 became 105 x 96 (within 0.5), the larger along its row" in told
    assert "sheet left 1.59 mm" in told
    assert "laid flat anew" in told
    assert "changed since" not in told
    assert run(["readings", str(job), "top", "B1 1 1/32 1", "--show", "in"]) == 0
    told = capsys.readouterr().out
    assert "100 became 103.1 x 100" in told
    assert "bare numbers are inches" in told


def test_a_job_changed_since_its_print_says_that_squares_may_lie_elsewhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "dome.lowcrown"
    save_job(with_work(with_print(decided(), TODAY), Work(bias=0.3)), path)
    assert run(["readings", str(path), "top", "B1 25 25"]) == 0
    assert "changed since rev 1 was printed" in capsys.readouterr().out


WRONG = {
    "no panel": (("lid", "B1 25 25"), "panels are left, top"),
    "no square": (("top", "Z9 25 25"), "There is no square"),
    "not of a square": (("top", "B1 250 25"), "cannot be a reading of a square of 25 mm"),
    "three sides": (("top", "B1 25 25 25"), "one length each way"),
    "one diagonal": (("top", "B1 25 25 / 35"), "both diagonals"),
    "no length": (("top", "B1 wide 25"), "no reading of a square"),
    "below nothing": (("top", "B1 -25 25"), "B1"),
    "twice": (("top", "B1 25 25", "b1 26 25"), "read twice"),
    "nothing read": (("top",), "READING"),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_readings_are_exit_code_2_and_a_sentence(
    job: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    words, told = WRONG[name]
    assert run(["readings", str(job), *words]) == 2
    caught = capsys.readouterr()
    assert told in caught.err
    assert "Traceback" not in caught.err
    assert caught.out == ""


def test_no_job_file_and_a_job_without_size_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.lowcrown").write_text("no zip")
    assert run(["readings", str(tmp_path / "a.lowcrown"), "top", "B1 25 25"]) == 1
    assert "is not a job file" in capsys.readouterr().err
    assert run(["readings", str(tmp_path / "gone.lowcrown"), "top", "B1 25 25"]) == 1
    assert "Traceback" not in capsys.readouterr().err
    save_job(JobState(), tmp_path / "b.lowcrown")
    assert run(["readings", str(tmp_path / "b.lowcrown"), "top", "B1 25 25"]) == 3
    assert run(["readings", "--help"]) == 0
    assert "nearer row 1" in " ".join(capsys.readouterr().out.split())

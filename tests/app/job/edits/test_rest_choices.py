"""What is decided besides the panels: kept in the job file, undone, and told on the next print."""

import json
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

from app.job import (
    GaugeChoice,
    JobState,
    RestOfTank,
    open_job,
    save_job,
    with_rest,
)
from app.job.edits.prints import paper_digest
from app.job.files.decisions_json import SCHEMA
from app.job.files.job_file import ALWAYS


def rewritten(path: Path, change: Any) -> None:
    with zipfile.ZipFile(path) as archive:
        found = json.loads(archive.read("job.json"))
    change(found)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr(zipfile.ZipInfo("job.json", ALWAYS), json.dumps(found))


def test_gauges_come_back_from_the_job_file(tmp_path: Path) -> None:
    chosen = GaugeChoice(61.0, (112.5, 203.0), "male")
    state = with_rest(JobState(), gauges=chosen)
    save_job(state, tmp_path / "job.lowcrown")
    assert open_job(tmp_path / "job.lowcrown").rest == RestOfTank(chosen)


def test_a_file_of_schema_6_opens_with_nothing_decided_besides(tmp_path: Path) -> None:
    path = tmp_path / "job.lowcrown"
    save_job(replace(JobState(), name="old"), path)

    def older(found: dict[str, Any]) -> None:
        found["schema"] = 6
        del found["rest"]

    rewritten(path, older)
    assert open_job(path).rest == RestOfTank()
    with zipfile.ZipFile(path) as archive:
        assert json.loads(archive.read("job.json"))["schema"] == 6 < SCHEMA


def test_the_same_choice_is_the_same_job() -> None:
    state = JobState()
    assert with_rest(state, gauges=None) is state


def test_what_is_decided_besides_reaches_the_next_print() -> None:
    changed = with_rest(JobState(), gauges=GaugeChoice(50.0))
    assert paper_digest(changed) != paper_digest(JobState())

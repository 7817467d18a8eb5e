"""The files of one step besides the panels by itself, with its numbers."""

from datetime import date

from app.delivery.findings import Json
from app.delivery.rest import kinds_made, rest_files, rest_job
from app.delivery.results import SCHEMA, json_text
from app.delivery.sheets import job_facts
from app.exports import Output, Show
from app.job import JobState, made
from geometry.progress import Report, silent


def files_of_step(
    state: JobState,
    step: str,
    result: str,
    *,
    dated: date,
    show: Show = "mm",
    output: Output | None = None,
    report: Report = silent,
) -> dict[str, bytes]:
    """Return the files of a step by name, and its numbers in a file of their own.

    Parameters
    ----------
    state : JobState
        The step made.
    step : str
        Its name.
    result : str
        Name of the file of numbers: they stand in it under the same name without its ending.
    dated : date
    show : "mm" or "in"
    output : Output, optional
    report : Report
    """
    facts = job_facts(state, made(state, "Size"), dated=dated, show=show)
    job = rest_job(state, facts, output=output)
    files: dict[str, bytes] = {}
    told: Json = {"schema": SCHEMA}
    for kind in kinds_made(state, step):
        report(0.0, step.lower())
        files |= rest_files(job, kind)
        told[result.removesuffix(".json")] = kind.told(state)
    told["files"] = sorted([*files, result])
    files[result] = json_text(told).encode()
    report(1.0, step.lower())
    return files

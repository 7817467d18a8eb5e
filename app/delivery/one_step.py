"""The files of one step besides the panels by itself, with its numbers."""

from datetime import date

from app.delivery.numbered import numbered_files
from app.delivery.rest import kinds_made
from app.delivery.rest_job import rest_job
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
    job = rest_job(
        state, job_facts(state, made(state, "Size"), dated=dated, show=show), output=output
    )
    (kind,) = kinds_made(state, step)
    return numbered_files(
        {result.removesuffix(".json"): kind.told(state)},
        result,
        kind.sheaves(job),
        kind.plates(job),
        output=output,
        booklet=kind.booklet,
        report=report,
    )

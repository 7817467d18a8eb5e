"""The files of one step besides the panels by itself, with its numbers."""

from collections.abc import Sequence
from datetime import date

from app.delivery.numbered import numbered_files
from app.delivery.rest import kinds_made
from app.delivery.rest_job import rest_job
from app.delivery.sheets import job_facts
from app.exports import Output, Show
from app.job import JobState, Metals, made
from geometry.metal import METALS
from geometry.progress import Report, silent


def files_of_step(
    state: JobState,
    step: str,
    result: str,
    *,
    dated: date,
    show: Show = "mm",
    output: Output | None = None,
    metals: Metals = METALS,
    more: Sequence[str] = (),
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
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    more : sequence of str
        Steps that go with it where they are made, their numbers under keys of their own.
    report : Report
    """
    facts = job_facts(state, made(state, "Size"), dated=dated, show=show)
    job = rest_job(state, facts, metals=metals, output=output)
    (kind,) = kinds_made(state, step)
    others = [other for name in more for other in kinds_made(state, name)]
    told = {result.removesuffix(".json"): kind.told(job)}
    kinds = (kind, *others)
    return numbered_files(
        told | {other.key: other.told(job) for other in others},
        result,
        [sheaf for each in kinds for sheaf in each.sheaves(job)],
        [plate for each in kinds for plate in each.plates(job)],
        output=output,
        booklet=kind.booklet,
        report=report,
    )

"""The pages of a whole job as they will leave, composed and not yet written."""

from datetime import date

from app.delivery.sheets import job_sheets
from app.delivery.stems import panel_stems
from app.exports import Output, Sheaf, Show, sheaves_of_job, sheaves_of_panel
from app.job import JobState
from app.settings import Settings
from geometry.progress import Report, part_of, silent


def composed(
    state: JobState,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
    output: Output | None = None,
    report: Report = silent,
) -> tuple[Sheaf, ...]:
    """Return every page of a job, file by file: the very pages `deliver` writes.

    Parameters
    ----------
    state : JobState
        Every panel's pattern made and up to date.
    dated : date
        Printed where the job would get a new revision; see `app.job.with_print`.
    show : "mm" or "in"
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    output : Output, optional
        Which files, for which papers and printer.
    report : Report

    Raises
    ------
    NotReadyError, BadPaperError
    """
    chosen = output or Output()
    overview = job_sheets(state, dated=dated, show=show, least_mm=least_mm)
    sheets = overview.panels
    sheaves: list[Sheaf] = []
    for at, (sheet, stem) in enumerate(
        zip(sheets, panel_stems([sheet.panel for sheet in sheets]), strict=True)
    ):
        share = part_of(report, at / (len(sheets) + 1), (at + 1) / (len(sheets) + 1))
        sheaves += sheaves_of_panel(sheet, chosen, stem=stem, report=share)
    sheaves += sheaves_of_job(overview, chosen)
    report(1.0, "pages made")
    return tuple(sheaves)

"""Everything of a job written into a folder at once: pages, cutting files, tables, summary."""

import tempfile
from datetime import date
from pathlib import Path

from app.delivery.composed import Composed, whole_job
from app.delivery.findings import Json, matings_json, outline_json
from app.delivery.folder import SUMMARY, check_folder, write_result
from app.delivery.lots import Asked, Making, in_order_of_work, lots_of_job, one_by_one
from app.delivery.material import panel_material_json, sheets_json
from app.delivery.record import pages_json, revision_json, tape_table_json
from app.delivery.rest import rest_json
from app.delivery.rest_job import rest_job
from app.delivery.results import blank_result, json_text, summary_result
from app.delivery.sheets import job_sheets
from app.delivery.standing import standing_json
from app.delivery.stems import panel_stems
from app.exports import (
    Output,
    PanelSheet,
    Show,
    panel_files,
)
from app.job import (
    Blank,
    JobState,
    Metals,
    PanelGuide,
    Sure,
    Thicknesses,
    made,
    save_job,
    with_print,
)
from app.settings import Settings
from app.units import Fractions
from geometry.metal import METALS
from geometry.pattern import matings
from geometry.progress import Report, part_of, silent


def deliver(
    state: JobState,
    folder: Path,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
    replace: bool = False,
    job_file: str = "",
    metals: Metals = METALS,
    output: Output | None = None,
    fractions: Fractions | None = None,
    kept: Composed | None = None,
    making: Making | None = None,
    report: Report = silent,
) -> Json:
    """Write a job's files into a folder, all or none, and return the summary.

    Parameters
    ----------
    state : JobState
        Every panel's pattern made and up to date.
    folder : Path
    dated : date
        Printed on every page where the job gets a new revision, see `app.job.with_print`: whoever
        keeps the job applies that edit first, so that the print stays on record.
    show : "mm" or "in"
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    replace : bool
        Overwrite an earlier result there.
    job_file : str
        Name under which the job itself is put with them; "" to leave it out.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output, optional
        Which files, for which papers and printer.
    fractions : Fractions, optional
        To which fraction of an inch lengths are told.
    kept : Composed, optional
        The pages of this very job, as `composed` gave them for the same choices; they are not
        composed again.
    making : function, optional
        Makes the lots of files, the longest work first; one after another if not given.

    Raises
    ------
    NotReadyError, ResultExistsError, NoFolderError, BadPaperError
    """
    check_folder(folder, replace=replace)
    chosen = output or Output()
    state = with_print(state, dated)
    overview = job_sheets(state, dated=dated, show=show, least_mm=least_mm)
    job = whole_job(state, overview, None, metals=metals, fractions=fractions)
    rest = rest_job(state, overview.job, metals=metals, output=chosen, fractions=fractions)
    asked = Asked(chosen, rest.fractions, metals, least_mm, kept)
    lots = lots_of_job(state, job, rest, asked)
    made_each = in_order_of_work(lots, making or one_by_one, part_of(report, 0.0, 0.95))
    files = {name: content for each in made_each for name, content in each.files.items()}
    if job_file:
        files[job_file] = _job_bytes(state)
    summary = summary_result(
        [each.told for each in made_each[: len(overview.panels)]],
        made(state, "Size"),
        [*files, SUMMARY],
        {
            **standing_json(state),
            **revision_json(state),
            "sheet": sheets_json(job.card.sheets, state),
            "matings": matings_json(
                matings({each.panel: each.pattern for each in overview.panels})
            ),
            "tape_table": tape_table_json(made_each[-1].table),
            "pages": pages_json(files),
            **rest_json(rest),
        },
    )
    files[SUMMARY] = json_text(summary).encode()
    write_result(folder, files, replace=replace)
    report(1.0, "files written")
    return summary


def deliver_single(
    sheet: PanelSheet,
    blank: Blank,
    sure: Sure,
    folder: Path | None,
    *,
    guide: PanelGuide | None = None,
    cases: Thicknesses | None = None,
    metals: Metals = METALS,
    output: Output | None = None,
    replace: bool = False,
    report: Report = silent,
) -> Json:
    """Write one ready-cut panel's files, if a folder is given, and return its numbers.

    Parameters
    ----------
    sheet : PanelSheet
    blank : Blank
    sure : Sure
    folder : Path or None
    guide : PanelGuide, optional
        What it asks of its metal; null in the numbers without.
    cases : Thicknesses, optional
        How thick it ends, made three ways; null in the numbers without.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output, optional
        Which files, for which papers and printer.
    replace : bool
        Overwrite an earlier result there.
    report : Report

    Raises
    ------
    ResultExistsError, NoFolderError, BadPaperError
    """
    chosen = output or Output()
    files: dict[str, bytes] = {}
    if folder is not None:
        check_folder(folder, replace=replace)
        (stem,) = panel_stems([sheet.panel])
        files = panel_files(sheet, chosen, stem=stem, report=report)
    result = blank_result(
        blank.panel,
        blank.flat,
        sheet.filled,
        list(files),
        pattern=sheet.pattern,
        sure=sure,
        guide=guide,
        cases=cases,
        schema=True,
    )
    result |= {
        **panel_material_json(sheet, metals, None),
        "outline": outline_json(sheet.pattern, chosen.outline),
        "pages": pages_json(files),
    }
    if folder is not None:
        write_result(folder, files, replace=replace)
    report(1.0, "files written")
    return result


def _job_bytes(state: JobState) -> bytes:
    with tempfile.TemporaryDirectory(prefix="lowcrown-") as folder:
        path = Path(folder) / "job"
        save_job(state, path)
        return path.read_bytes()

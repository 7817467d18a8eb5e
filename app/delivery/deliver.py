"""Everything of a job written into a folder at once: pages, cutting files, tables, summary."""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from app.delivery.findings import Json
from app.delivery.folder import SUMMARY, check_folder, write_result
from app.delivery.results import blank_result, json_text, summary_result
from app.delivery.sheets import NotReadyError, job_facts, panel_sheet, tank_model
from app.delivery.standing import standing_json
from app.exports import (
    OverviewSheet,
    PanelSheet,
    Show,
    file_stem,
    overview_files,
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
    panel_guide,
    panel_names,
    save_job,
    thicknesses,
)
from app.settings import Settings
from geometry.metal import METALS
from geometry.progress import Report, part_of, silent


@dataclass(frozen=True, eq=False)
class PanelFiles:
    """The files of one panel, still to be made; it can travel to another process."""

    sheet: PanelSheet
    stem: str

    def run(self, report: Report = silent) -> dict[str, bytes]:
        """Return them by name."""
        return panel_files(self.sheet, stem=self.stem, report=report)


@dataclass(frozen=True, eq=False)
class OverviewFiles:
    """The page of the whole tank, still to be made."""

    overview: OverviewSheet

    def run(self, report: Report = silent) -> dict[str, bytes]:
        """Return it by name."""
        report(0.0, "overview")
        return overview_files(self.overview)


FilesToMake = PanelFiles | OverviewFiles
Making = Callable[[Sequence[FilesToMake], Report], list[dict[str, bytes]]]
"""Makes several lots of files, and returns them in the order asked."""


def one_by_one(jobs: Sequence[FilesToMake], report: Report) -> list[dict[str, bytes]]:
    """Return the files of every job, made one after another."""
    return [
        job.run(part_of(report, at / len(jobs), (at + 1) / len(jobs)))
        for at, job in enumerate(jobs)
    ]


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
        Printed on every page.
    show : "mm" or "in"
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    replace : bool
        Overwrite an earlier result there.
    job_file : str
        Name under which the job itself is put with them; "" to leave it out.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    making : function, optional
        Makes the files of all panels and the overview; one after another if not given.

    Raises
    ------
    NotReadyError, ResultExistsError, NoFolderError, PageTooLargeError
    """
    check_folder(folder, replace=replace)
    size = made(state, "Size")
    if size is None:
        raise NotReadyError("")
    facts = job_facts(state, size, dated=dated, show=show, least_mm=least_mm)
    tank = tank_model(state)
    names = panel_names(state)
    sheets = tuple(panel_sheet(state, facts, tank, name) for name in names)
    overview = OverviewSheet(facts, tank, sheets)
    files, per_panel = _made_files(sheets, overview, making, part_of(report, 0.0, 0.8))
    results = []
    for at, (sheet, paths) in enumerate(zip(sheets, per_panel, strict=True)):
        share = part_of(report, 0.8 + 0.18 * at / len(names), 0.8 + 0.18 * (at + 1) / len(names))
        flat = made(state, "Blanks", sheet.panel).flat
        guide = panel_guide(
            flat, state.metal, metals, least_mm=least_mm, directions=state.directions
        )
        results.append(_panel_result(state, sheet, paths, guide, report=share))
    if job_file:
        files[job_file] = _job_bytes(state)
    summary = summary_result(results, size, [*files, SUMMARY], standing_json(state))
    files[SUMMARY] = json_text(summary).encode()
    write_result(folder, files, replace=replace)
    report(1.0, "files written")
    return summary


def _panel_result(
    state: JobState,
    sheet: PanelSheet,
    files: Sequence[str],
    guide: PanelGuide | None,
    *,
    report: Report,
) -> Json:
    flat = made(state, "Blanks", sheet.panel).flat
    cases: Thicknesses | None = made(state, "Thickness", sheet.panel)
    return blank_result(
        sheet.panel,
        flat,
        sheet.filled,
        files,
        pattern=sheet.pattern,
        sure=made(state, "Sure", sheet.panel),
        guide=guide,
        cases=thicknesses(flat, report=report) if cases is None else cases,
        copied=sheet.copied,
    )


def deliver_single(
    sheet: PanelSheet,
    blank: Blank,
    sure: Sure,
    folder: Path | None,
    *,
    guide: PanelGuide | None = None,
    cases: Thicknesses | None = None,
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
    replace : bool
        Overwrite an earlier result there.
    report : Report

    Raises
    ------
    ResultExistsError, NoFolderError, PageTooLargeError
    """
    files: dict[str, bytes] = {}
    if folder is not None:
        check_folder(folder, replace=replace)
        files, _ = _made_files((sheet,), None, None, report)
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
    if folder is not None:
        write_result(folder, files, replace=replace)
    report(1.0, "files written")
    return result


def _made_files(
    sheets: Sequence[PanelSheet],
    overview: OverviewSheet | None,
    making: Making | None,
    report: Report,
) -> tuple[dict[str, bytes], list[list[str]]]:
    """Return every file's bytes, and the names of each panel's files."""
    stems = panel_stems([sheet.panel for sheet in sheets])
    jobs: list[FilesToMake] = [
        PanelFiles(sheet, stem) for sheet, stem in zip(sheets, stems, strict=True)
    ]
    if overview is not None:
        jobs.append(OverviewFiles(overview))
    made_each = (making or one_by_one)(jobs, report)
    files = {name: content for each in made_each for name, content in each.items()}
    return files, [list(each) for each in made_each[: len(sheets)]]


def _job_bytes(state: JobState) -> bytes:
    with tempfile.TemporaryDirectory(prefix="lowcrown-") as folder:
        path = Path(folder) / "job"
        save_job(state, path)
        return path.read_bytes()


def panel_stems(names: Sequence[str]) -> list[str]:
    """Return how each panel's files start, no two alike.

    >>> panel_stems(["left side", "Left side", "top"])
    ['left side', 'Left side 2', 'top']
    """
    stems: list[str] = []
    for name in names:
        stem, number = file_stem(name), 2
        while stem.casefold() in {taken.casefold() for taken in stems}:
            stem, number = f"{file_stem(name)} {number}", number + 1
        stems.append(stem)
    return stems

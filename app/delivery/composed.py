"""The pages of a whole job as they will leave, composed and not yet written."""

from collections.abc import Container
from dataclasses import dataclass
from datetime import date

from app.delivery.rest import kinds_made, rest_sheaves
from app.delivery.rest_job import rest_job
from app.delivery.sheets import job_sheets
from app.delivery.stems import panel_stems
from app.exports import (
    CardSheet,
    Output,
    OverviewSheet,
    Sheaf,
    Show,
    TapeSheet,
    sheaf_of_card,
    sheaf_of_tapes,
    sheaves_of_job,
    sheaves_of_panel,
)
from app.job import (
    JobState,
    Metals,
    largest_face_of,
    panel_names,
    sheets_of_job,
    tape_table_of,
)
from app.settings import Settings
from app.units import PA_PER_PSI, Fractions
from geometry.gauges import TapeTable
from geometry.metal import METALS
from geometry.progress import Report, part_of, silent

_LEAK_TEST_KPA = PA_PER_PSI / 1000.0


@dataclass(frozen=True, eq=False)
class WholeJob:
    """What the pages that belong to no one panel are made of.

    Attributes
    ----------
    overview : OverviewSheet
    tapes : TapeSheet or None
        None where there is nothing to tape.
    card : CardSheet
    """

    overview: OverviewSheet
    tapes: TapeSheet | None
    card: CardSheet

    def sheaves(self, output: Output) -> tuple[Sheaf, ...]:
        """Return the pages, file by file."""
        tapes = () if self.tapes is None else (sheaf_of_tapes(self.tapes),)
        return (*sheaves_of_job(self.overview, output), *tapes, sheaf_of_card(self.card))


@dataclass(frozen=True, eq=False)
class Composed:
    """Every page of a job, kept so that nothing is made twice.

    Attributes
    ----------
    sheaves : tuple of Sheaf
        File by file, as `deliver` writes them.
    table : TapeTable or None
        What the tape table's pages tell.
    """

    sheaves: tuple[Sheaf, ...]
    table: TapeTable | None

    def named(self, names: Container[str]) -> tuple[Sheaf, ...]:
        """Return the pages of some files."""
        return tuple(sheaf for sheaf in self.sheaves if sheaf.name in names)


def whole_job(
    state: JobState,
    overview: OverviewSheet,
    table: TapeTable | None,
    *,
    metals: Metals = METALS,
    fractions: Fractions | None = None,
) -> WholeJob:
    """Return what the pages of the job as a whole are made of.

    Parameters
    ----------
    state : JobState
    overview : OverviewSheet
        As `job_sheets` gives it.
    table : TapeTable or None
        As `app.job.tape_table_of` gives it.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    fractions : Fractions, optional
        To which fraction of an inch lengths are told.
    """
    facts = overview.job
    return WholeJob(
        overview,
        None if table is None else TapeSheet(facts, overview.tank, table, fractions or Fractions()),
        CardSheet(
            facts,
            state.card,
            panel_names(state),
            sheets_of_job(state, metals),
            state.price,
            largest_face_of(state, _LEAK_TEST_KPA),
        ),
    )


def composed(
    state: JobState,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
    metals: Metals = METALS,
    output: Output | None = None,
    fractions: Fractions | None = None,
    table: TapeTable | None = None,
    report: Report = silent,
) -> Composed:
    """Return every page of a job: the very pages `deliver` writes.

    Parameters
    ----------
    state : JobState
        Every panel's pattern made and up to date.
    dated : date
        Printed where the job would get a new revision; see `app.job.with_print`.
    show : "mm" or "in"
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output, optional
        Which files, for which papers and printer.
    fractions : Fractions, optional
        To which fraction of an inch lengths are told.
    table : TapeTable, optional
        As `app.job.tape_table_of` gives it for this job; worked out if not given.
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
        share = part_of(report, at / (len(sheets) + 2), (at + 1) / (len(sheets) + 2))
        sheaves += sheaves_of_panel(sheet, chosen, stem=stem, report=share)
    share = part_of(report, len(sheets) / (len(sheets) + 2), 1.0)
    table = tape_table_of(state, report=share) if table is None else table
    whole = whole_job(state, overview, table, metals=metals, fractions=fractions)
    sheaves += whole.sheaves(chosen)
    rest = rest_job(state, overview.job, metals=metals, output=chosen, fractions=fractions)
    sheaves += rest_sheaves(rest, kinds_made(state))
    report(1.0, "pages made")
    return Composed(tuple(sheaves), table)

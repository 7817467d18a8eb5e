"""The files of a job in lots, each of which can be made in another process."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from app.delivery.composed import Composed, WholeJob
from app.delivery.findings import Json, outline_json
from app.delivery.material import panel_material_json
from app.delivery.rest import RestKind, kinds_made, rest_files
from app.delivery.rest_job import RestJob
from app.delivery.results import blank_result
from app.delivery.stems import panel_stems
from app.exports import (
    CardSheet,
    Output,
    OverviewSheet,
    PanelSheet,
    Sheaf,
    TapeSheet,
    page_endings,
    panel_files,
    sheaf_bytes,
    sheaf_of_card,
    sheaf_of_tapes,
    sheaves_of_job,
)
from app.job import (
    Directions,
    JobState,
    MetalChoice,
    Metals,
    Price,
    Sure,
    Thicknesses,
    made,
    panel_guide,
    tape_table_of,
    thicknesses,
)
from app.units import Fractions
from geometry.blank import FlatPanel
from geometry.gauges import TapeTable
from geometry.progress import Report, part_of, silent


@dataclass(frozen=True, eq=False)
class MadeFiles:
    """A lot of files that was made.

    Attributes
    ----------
    files : dict of name to bytes
    told : JSON
        What the summary tells of the panel they are of; nothing of other lots.
    table : TapeTable or None
        What was worked out for the tape table among them.
    """

    files: dict[str, bytes]
    told: Json = field(default_factory=dict)
    table: TapeTable | None = None


@dataclass(frozen=True, eq=False)
class PanelNumbers:
    """What the summary tells of a panel beside its sheet.

    Attributes
    ----------
    flat : FlatPanel
    sure : Sure
    cases : Thicknesses or None
        Worked out where they are not made.
    metal : MetalChoice
    metals : mapping of name to SheetMetal
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    directions : Directions
    price : Price or None
    """

    flat: FlatPanel
    sure: Sure
    cases: Thicknesses | None
    metal: MetalChoice
    metals: Metals
    least_mm: float
    directions: Directions
    price: Price | None

    def told(self, sheet: PanelSheet, names: list[str], report: Report) -> Json:
        """Return them, a panel's files among them."""
        flat = self.flat
        guide = panel_guide(
            flat, self.metal, self.metals, least_mm=self.least_mm, directions=self.directions
        )
        cases = thicknesses(flat, report=report) if self.cases is None else self.cases
        return {
            **blank_result(
                sheet.panel,
                flat,
                sheet.filled,
                names,
                pattern=sheet.pattern,
                sure=self.sure,
                guide=guide,
                cases=cases,
                copied=sheet.copied,
            ),
            **panel_material_json(sheet, self.metals, self.price),
        }


@dataclass(frozen=True, eq=False)
class PanelFiles:
    """The files of one panel, still to be made, of pages that were composed where they were."""

    sheet: PanelSheet
    stem: str
    output: Output
    kept: tuple[Sheaf, ...]
    numbers: PanelNumbers

    def run(self, report: Report = silent) -> MadeFiles:
        """Return them, and what the summary tells of the panel."""
        share = part_of(report, 0.0, 0.9)
        made = panel_files(
            self.sheet, self.output, stem=self.stem, composed=self.kept, report=share
        )
        return MadeFiles(made, self.told(list(made), part_of(report, 0.9, 1.0)))

    def told(self, names: list[str], report: Report = silent) -> Json:
        """Return what the summary tells of the panel, its files of these names."""
        return {
            **self.numbers.told(self.sheet, names, report),
            "outline": outline_json(self.sheet.pattern, self.output.outline),
        }


@dataclass(frozen=True, eq=False)
class JobFiles:
    """The overview and the printer's check page, still to be made."""

    overview: OverviewSheet
    output: Output

    def run(self, report: Report = silent) -> MadeFiles:
        """Return them."""
        report(0.0, "overview")
        return MadeFiles(_written(sheaves_of_job(self.overview, self.output)))


@dataclass(frozen=True, eq=False)
class TapeFiles:
    """The tape table, still to be worked out and drawn, and the job card.

    Attributes
    ----------
    state : JobState
        With the steps the table is made from.
    overview : OverviewSheet
    card : CardSheet
    fractions : Fractions
    """

    state: JobState
    overview: OverviewSheet
    card: CardSheet
    fractions: Fractions

    def run(self, report: Report = silent) -> MadeFiles:
        """Return the files and the table; where there is nothing to tape, the card alone."""
        report(0.0, "tape table")
        table = tape_table_of(self.state, report=part_of(report, 0.0, 0.8))
        sheaves = [sheaf_of_card(self.card)]
        if table is not None:
            facts, tank = self.overview.job, self.overview.tank
            sheaves.insert(0, sheaf_of_tapes(TapeSheet(facts, tank, table, self.fractions)))
        report(0.9, "tape table")
        return MadeFiles(_written(sheaves), table=table)


@dataclass(frozen=True, eq=False)
class RestFiles:
    """The files of one step besides the panels, still to be made."""

    job: RestJob
    kind: RestKind
    kept: tuple[Sheaf, ...] = ()

    def run(self, report: Report = silent) -> MadeFiles:
        """Return them."""
        report(0.0, self.kind.step.lower())
        return MadeFiles(rest_files(self.job, self.kind, self.kept, report=report))


@dataclass(frozen=True, eq=False)
class PagesKept:
    """The job's own files of pages that stand composed, still to be written."""

    kept: tuple[Sheaf, ...]
    table: TapeTable | None = None

    def run(self, report: Report = silent) -> MadeFiles:
        """Return them."""
        report(0.0, "pages")
        return MadeFiles(_written(self.kept), table=self.table)


def _written(sheaves: Iterable[Sheaf]) -> dict[str, bytes]:
    return {sheaf.name: sheaf_bytes(sheaf) for sheaf in sheaves}


FilesToMake = PanelFiles | JobFiles | TapeFiles | RestFiles | PagesKept
Making = Callable[[Sequence[FilesToMake], Report], list[MadeFiles]]
"""Makes several lots of files, and returns them in the order asked."""


@dataclass(frozen=True, eq=False)
class Asked:
    """How a job's files are to leave.

    Attributes
    ----------
    output : Output
    fractions : Fractions
        To which fraction of an inch tapes are told.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    least_mm : float
        The least thickness the maker wants finished panels to keep.
    kept : Composed or None
        Pages that stand composed.
    """

    output: Output
    fractions: Fractions
    metals: Metals
    least_mm: float
    kept: Composed | None


def lots_of_job(state: JobState, job: WholeJob, rest: RestJob, asked: Asked) -> list[FilesToMake]:
    """Return the files of a job in lots: panel by panel, what is besides them, then the job's own.

    The tape table is among the last.

    The whole job's own tape table is left aside.
    """
    output, kept = asked.output, asked.kept
    sheets = job.overview.panels
    stems = panel_stems([sheet.panel for sheet in sheets])
    names = [{stem + ending for ending in page_endings(output)} for stem in stems]
    pages = Composed((), None) if kept is None else kept
    lots: list[FilesToMake] = [
        PanelFiles(
            sheet,
            stem,
            output,
            pages.named(of_panel),
            _numbers(state, asked, sheet.panel),
        )
        for sheet, stem, of_panel in zip(sheets, stems, names, strict=True)
    ]
    light = replace(rest, state=_without_panels(rest.state))
    lots += [RestFiles(light, kind, pages.sheaves) for kind in kinds_made(state)]
    if kept is None:
        tapes = TapeFiles(_without_panels(state), job.overview, job.card, asked.fractions)
        return [*lots, JobFiles(job.overview, output), tapes]
    of_panels = set().union(*names)
    own = tuple(sheaf for sheaf in kept.sheaves if sheaf.name not in of_panels)
    return [*lots, PagesKept(own, kept.table)]


def _numbers(state: JobState, asked: Asked, panel: str) -> PanelNumbers:
    return PanelNumbers(
        made(state, "Blanks", panel).flat,
        made(state, "Sure", panel),
        made(state, "Thickness", panel),
        state.metal,
        dict(asked.metals),
        asked.least_mm,
        state.directions,
        state.price,
    )


def _without_panels(state: JobState) -> JobState:
    """Return a job without what was made panel by panel: light enough to travel."""
    return replace(state, results={key: state.results[key] for key in state.results if not key[1]})


def one_by_one(lots: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
    """Return the files of every lot, made one after another."""
    return [
        lot.run(part_of(report, at / len(lots), (at + 1) / len(lots)))
        for at, lot in enumerate(lots)
    ]


def in_order_of_work(
    lots: Sequence[FilesToMake], making: Making, report: Report
) -> list[MadeFiles]:
    """Return the files of every lot, in the order given; what takes longest is begun first."""
    order = sorted(range(len(lots)), key=lambda at: -_work(lots[at]))
    made = making([lots[at] for at in order], report)
    return [made[order.index(at)] for at in range(len(lots))]


def _work(lot: FilesToMake) -> float:
    """Return about how long a lot takes, by its triangles."""
    if isinstance(lot, PanelFiles):
        return float(len(lot.sheet.flat.faces))
    if isinstance(lot, TapeFiles):
        return float(len(lot.overview.tank.faces))
    if isinstance(lot, RestFiles) and lot.kind.booklet:  # so many plates that they are bound
        return float(len(lot.job.tank.faces))
    return 0.0

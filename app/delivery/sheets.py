"""From a job to what its pages are made of: facts, the tank for pictures, a sheet per panel."""

from collections.abc import Sequence
from datetime import date
from typing import Literal, cast

import numpy as np

from app.exports import (
    JobFacts,
    OverviewSheet,
    PanelSheet,
    ProofTape,
    Show,
    TankModel,
    check_fits_paper,
    marked_out_as_shown,
)
from app.job import (
    Blank,
    Directions,
    JobState,
    Panels,
    SidesChoice,
    Sure,
    directions_of,
    level_sure_words,
    made,
    panel_names,
    pieces_besides,
    sure_words,
    why_no_cut,
    with_print,
)
from app.settings import Settings
from app.units import thickness_text
from geometry.blank import FlatPanel
from geometry.datum import Datum, TrueSize, point_array
from geometry.panels import CutSurface, Panel
from geometry.pattern import Pattern, with_centre_lines
from geometry.scan import UNIT_WORDS


class NotReadyError(Exception):
    """A panel's pattern is missing or out of date, so nothing may leave.

    Attributes
    ----------
    panel : str
        "" when the panels themselves are missing.
    """

    def __init__(self, panel: str) -> None:
        self.panel = panel
        super().__init__(f"the pattern of {panel or 'the job'} is not made, or out of date")


def unit_words(size: TrueSize) -> str:
    """Return what a coordinate of the scan file means, in words."""
    if size.unit is None:
        return f"scaled to the tapes, {size.mm_per_unit:g} mm a unit"
    return UNIT_WORDS[size.unit]


def job_facts(
    state: JobState,
    size: TrueSize,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
) -> JobFacts:
    """Return what every page of a job says: the revision and day it is, or would be, printed as.

    `dated` counts where the job would get a new revision: see `app.job.with_print`.
    """
    metal = state.metal
    printed = with_print(state, dated)
    if metal.face == "middle":
        surface = "Blank on the middle of the metal; the file taken as that surface"
    else:
        paint = f" less {thickness_text(metal.paint_mm, show)} paint" if metal.paint_mm else ""
        how = ". Paint taken off square to the face, the same everywhere" if paint else ""
        surface = (
            f"Blank on the middle of the metal: scanned outside{paint} less half of "
            f"{thickness_text(metal.thickness_mm, show)} sheet{how}"
        )
    return JobFacts(
        job=state.name,
        alloy=metal.alloy,
        thickness_mm=metal.thickness_mm,
        revision=str(printed.revision),
        dated=date.fromisoformat(printed.revised),
        scan_unit=unit_words(size),
        tapes=tuple(
            ProofTape(check.tape.length_mm, check.scan_mm, check.tape.kind) for check in size.checks
        ),
        size_proved=size.proved,
        surface=surface,
        marked_face=state.marked_face,
        show=show,
        least_mm=least_mm,
        copied_from=copied_from(state.sides),
        model=state.model,
        forming=state.forming,
        replaces=str(printed.prints[-2].revision) if len(printed.prints) > 1 else "",
        grain=state.grain,
        level=level_sure_words(state),
    )


def job_sheets(
    state: JobState,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
) -> OverviewSheet:
    """Return what all pages of a job are made of; its `panels` are the sheet of each panel.

    Raises
    ------
    NotReadyError
        A pattern is missing or out of date: nothing may leave.
    """
    size = made(state, "Size")
    if size is None:
        raise NotReadyError("")
    facts = job_facts(state, size, dated=dated, show=show, least_mm=least_mm)
    tank = tank_model(state)
    names = panel_names(state)
    sheets = tuple(panel_sheet(state, facts, tank, name) for name in names)
    return OverviewSheet(facts, tank, sheets, pieces_besides(state))


def copied_from(sides: SidesChoice) -> Literal["left", "right", ""]:
    """Return which side the other is made from; "" for neither, or one here and the other there.

    >>> copied_from(SidesChoice("left")), copied_from(SidesChoice())
    ('left', '')
    """
    hands = {zone.side for zone in sides.zones} | ({sides.copy} - {"none"})
    return cast('Literal["left", "right"]', hands.pop()) if len(hands) == 1 else ""


def tank_model(state: JobState) -> TankModel:
    """Return the cut tank for pictures, panels in their order.

    Raises
    ------
    NotReadyError
    """
    cut: Panels | None = made(state, "Seams")
    if cut is None:
        raise NotReadyError("")
    return tank_in_panels(cut.cut, cut.panels, directions_of(state))


def tank_in_panels(cut: CutSurface, parts: Sequence[Panel], directions: Directions) -> TankModel:
    """Return a cut tank for pictures, its panels in the order given."""
    panel_of_face = np.full(len(cut.mesh.faces), -1, np.int64)
    for index, panel in enumerate(parts):
        panel_of_face[panel.face_of_panel_face] = index
    return TankModel(
        vertices=cut.outside,
        faces=cut.mesh.faces,
        panel_of_face=panel_of_face,
        names=tuple(panel.name for panel in parts),
        front=point_array(directions.front),
        up=point_array(directions.top),
        filled=cut.filled,
        copied=cut.copied,
    )


def panel_sheet(state: JobState, facts: JobFacts, tank: TankModel, panel: str) -> PanelSheet:
    """Return one panel ready for paper.

    Raises
    ------
    NotReadyError
        Its pattern is missing or out of date.
    TooLargeForPaperError
    """
    blank: Blank | None = made(state, "Blanks", panel)
    pattern = made(state, "Paper", panel)
    if blank is None or pattern is None:
        raise NotReadyError(panel)
    check_fits_paper(panel, pattern.net)
    datum: Datum | None = made(state, "Datum")
    if datum is not None and not datum.plane.weak:
        pattern = with_centre_lines(pattern, blank.flat, datum.plane.point, datum.plane.normal)
    return PanelSheet(
        job=facts,
        panel=panel,
        flat=blank.flat,
        pattern=as_shown(pattern, blank.flat, facts),
        filled=blank.filled,
        copied=_panel_of(state, panel).copied,
        tank=tank,
        front_along_u=directions_of(state).front is not None,
        remarks=how_sure(
            pattern, made(state, "Sure", panel), facts.show, may_cut=not why_no_cut(state, panel)
        ),
    )


def _panel_of(state: JobState, name: str) -> Panel:
    """Return a panel of the cut tank by its name."""
    cut: Panels = made(state, "Seams")
    return next(panel for panel in cut.panels if panel.name == name)


def as_shown(pattern: Pattern, flat: FlatPanel, facts: JobFacts) -> Pattern:
    """Return a pattern with its ticks, grid and thin regions as the job's pages show them."""
    return marked_out_as_shown(
        pattern, flat, show=facts.show, sheet_mm=facts.thickness_mm, least_mm=facts.least_mm
    )


def how_sure(pattern: Pattern, found: Sure | None, show: Show, *, may_cut: bool) -> tuple[str, ...]:
    """Return the one sentence about how sure a size is, where there is a cut line to speak of."""
    bare = [each.letter for each in pattern.allowance_of_edge if each.allowance.kind == "none"]
    words = sure_words(found, show, bare=bare) if may_cut else ""
    return (words,) if words else ()

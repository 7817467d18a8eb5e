"""One ready-cut panel straight to its blank: what `lowcrown blank` does."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from app.delivery.sheets import as_shown, how_sure, job_facts
from app.exports import PanelSheet, Show, TankModel, check_fits_paper
from app.job import KEPT, Blank, JobState, Sure, errors_of_scan, made, scale_error, stock_of, sure
from app.settings import Settings
from geometry.arrays import FloatArray, IntArray
from geometry.blank import MeasuringErrors, is_opening, laid_along
from geometry.mesh import TriMesh, rims
from geometry.panels import Panel
from geometry.pattern import bare_pattern
from geometry.progress import Report, part_of, silent
from geometry.scan import Piece, scaled, tidy_for_panels
from geometry.surface import (
    Opening,
    WorkingSurface,
    filled_openings,
    offset_inward,
    working_surface,
)

LET_PASS = 1e-4
"""Part by which scan noise may lengthen a panel's area before it is taken out: 2 s^2 / h^2."""


@dataclass(frozen=True, eq=False)
class SinglePanel:
    """A ready-cut panel, ready to be laid flat.

    Attributes
    ----------
    panel : Panel
    working : WorkingSurface or None
        What it is where scan noise was taken out and triangles evened; otherwise it has the file's
        own triangles.
    noise_mm, spacing_mm : float
        Of the file's points.
    dropped : tuple of Piece
        Scraps of the file left out.
    """

    panel: Panel
    working: WorkingSurface | None
    noise_mm: float
    spacing_mm: float
    dropped: tuple[Piece, ...] = ()

    @property
    def evened(self) -> bool:
        """Return whether scan noise was taken out and triangles evened."""
        return self.working is not None


def single_panel(state: JobState, *, report: Report = silent) -> SinglePanel:
    """Return the file's surface as one panel, middle of the metal.

    Noise is taken out only where it would make the blank too big by more than 1 part in 10,000;
    an exact body keeps its own triangles.
    """
    scanned, size = made(state, "Scan"), made(state, "Size")
    mesh = scaled(scanned.sound.mesh, size.mm_per_unit)
    dropped: tuple[Piece, ...] = ()
    if len(scanned.report.pieces) > 1:
        tidy = tidy_for_panels(mesh, report=part_of(report, 0.0, 0.2))
        mesh, dropped = tidy.mesh, tidy.dropped
    noise_mm = scanned.report.noise * size.mm_per_unit
    spacing_mm = max(scanned.report.spacing * size.mm_per_unit, 1e-9)
    name = Path(state.scan.file_name).stem if state.scan else "panel"
    if 2.0 * (noise_mm / spacing_mm) ** 2 > LET_PASS:
        work = working_surface(
            mesh,
            inward_mm=state.metal.inward_mm,
            fill_rim_below_mm=0.0,
            report=part_of(report, 0.2, 1.0),
        )
        near = work.scan_face[work.mesh.faces[:, 0]]
        panel = _as_panel(name, work.mesh, work.outside, near)
        return SinglePanel(panel, work, noise_mm, spacing_mm, dropped)
    middle = offset_inward(mesh, state.metal.inward_mm) if state.metal.inward_mm else mesh.vertices
    panel = _as_panel(name, TriMesh(middle, mesh.faces), mesh.vertices, np.arange(len(mesh.faces)))
    return SinglePanel(panel, None, noise_mm, spacing_mm, dropped)


def _as_panel(name: str, mesh: TriMesh, outside: FloatArray, scan_face: IntArray) -> Panel:
    return Panel(
        name=name,
        mesh=mesh,
        outside=outside,
        vertex_of_panel_vertex=np.arange(len(mesh.vertices)),
        face_of_panel_face=np.arange(len(mesh.faces)),
        scan_face_of_panel_face=scan_face,
        filled=np.zeros(len(mesh.faces), bool),
        copied=np.zeros(len(mesh.faces), bool),
        openings=(),
        seam_halves=(),
    )


def single_blank(
    single: SinglePanel, state: JobState, *, open_holes: bool = False, report: Report = silent
) -> Blank:
    """Return the panel laid flat, its holes solid metal to be cut after forming, or left open.

    Raises
    ------
    NotADiskError
        Not one piece, closed all round, a tube, or with a tunnel through it.
    """
    mesh = single.panel.mesh
    loops = rims(mesh)
    holes = len(loops) > 1 and all(is_opening(mesh, rim) for rim in loops[1:])
    filled = np.zeros(len(mesh.faces), bool)
    openings: tuple[Opening, ...] = ()
    if holes and not open_holes:
        mesh, filled, openings = filled_openings(mesh, None)
    flat = KEPT.laid(
        mesh, state.work, exact=state.exact, open_holes=holes and open_holes, report=report
    )
    front = state.directions.front
    flat = laid_along(flat, None if front is None else np.array(front))
    return Blank(single.panel.name, mesh, filled, openings, flat, state.work)


def single_sure(
    state: JobState, single: SinglePanel, blank: Blank, *, report: Report = silent
) -> Sure:
    """Return how sure the blank's size is.

    A scan that was evened is as sure as its working surface, its rim the scan's own edge. Another
    file is as sure as its points, its rim too.
    """
    tapes = [check.tape.length_mm for check in made(state, "Size").checks]
    errors = MeasuringErrors(single.noise_mm, 0.0, single.noise_mm, scale_error(tapes))
    if single.working is not None:
        errors = errors_of_scan(
            single.working,
            single.panel.outside,
            blank.flat,
            is_scans_edge=np.ones(len(blank.flat.rim), bool),
            spacing_mm=single.spacing_mm,
            tapes_mm=tapes,
        )
    return sure(blank.flat, errors, report=report)


def single_sheet(
    state: JobState,
    single: SinglePanel,
    blank: Blank,
    found: Sure,
    *,
    dated: date,
    show: Show = "mm",
    least_mm: float = Settings.least_thickness_mm,
) -> PanelSheet:
    """Return the panel ready for paper."""
    panel = single.panel
    size = made(state, "Size")
    facts = job_facts(state, size, dated=dated, show=show, least_mm=least_mm)
    tank = TankModel(
        vertices=panel.outside,
        faces=panel.mesh.faces,
        panel_of_face=np.zeros(len(panel.mesh.faces), np.int64),
        names=(panel.name,),
    )
    dressed = replace(panel, filled=blank.filled, openings=blank.openings)
    pattern = bare_pattern(
        blank.flat,
        dressed,
        trim_mm=state.trim_mm,
        growth=found.growth,
        stock=stock_of(state.metal),
    )
    check_fits_paper(panel.name, pattern.net)
    return PanelSheet(
        job=facts,
        panel=panel.name,
        flat=blank.flat,
        pattern=as_shown(pattern, blank.flat, facts),
        filled=blank.filled,
        tank=tank,
        remarks=how_sure(pattern, found, show, may_cut=facts.size_proved and blank.flat.converged),
    )

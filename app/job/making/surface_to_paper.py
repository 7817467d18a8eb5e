"""How the steps from surface to paper make their results: functions of inputs only.

A worker can run them, as it can those of `scan_to_surface`.
"""

from dataclasses import replace

import numpy as np

from app.job.choices import MetalChoice, PanelName, SeamLine
from app.job.files import metal_or_none
from app.job.making.cutters import cutter_of
from app.job.making.fitting_cuts import FittingCuts
from app.job.making.flatteners import KEPT
from app.job.making.judging import seams_in_mm
from app.job.making.leaving import Leaving
from app.job.making.lip_edges import edges_with_lip
from app.job.making.results import Blank, Panels, Surface
from app.job.making.scan_to_surface import places_in_mm
from app.job.making.sure import Sure, errors_of_panel, sure
from app.job.making.thickness import Thicknesses, thicknesses
from geometry.arrays import FloatArray
from geometry.blank import Work, laid_along
from geometry.datum import Point3
from geometry.metal import METALS
from geometry.panels import Panel, panels
from geometry.pattern import (
    BendStock,
    Pattern,
    bare_pattern,
    edge_key,
    edge_letters,
    rim_edges,
    with_fitting_lines,
)
from geometry.progress import Report, part_of, silent
from geometry.surface import Opening, filled_openings

SMALLEST_FITTING_MM = 20.0
"""A round hole at least this large is a fitting's own. Common practice, no source."""


def seams_step(
    surface: Surface,
    mm_per_unit: float,
    seams: tuple[SeamLine, ...],
    names: tuple[PanelName, ...],
    *,
    report: Report = silent,
) -> Panels:
    """Return the working surface cut along the seams, and its panels."""
    drawn = seams_in_mm(seams, mm_per_unit)
    cut = cutter_of(surface.working).cut(drawn, report=part_of(report, 0.0, 0.9))
    named = [(name.name, places_in_mm([name.inside], mm_per_unit)[0]) for name in names]
    return Panels(cut, panels(cut, named))


def blank_step(
    panel: Panel, work: Work, exact: bool, front: Point3 | None, *, report: Report = silent
) -> Blank:
    """Return one panel laid flat, openings solid, FRONT along the sheet.

    A bias set by hand (`exact`) is taken as it stands; else it goes as far as the panel lets.
    """
    mesh, added, openings = filled_openings(panel.mesh, None)
    filled = np.concatenate([panel.filled, added[len(panel.filled) :]])
    flat = KEPT.laid(mesh, work, exact=exact, report=report)
    flat = laid_along(flat, None if front is None else np.array(front))
    fittings = tuple(o for o in (*panel.openings, *openings) if is_fitting(o))
    return Blank(panel.name, mesh, filled, fittings, flat, work)


def is_fitting(opening: Opening) -> bool:
    """Return whether a hole of the scan is a fitting's own, to be cut after forming.

    Round and at least 20 mm across, as a filler is; a scanner's marker or a shadow is not: it is
    only marked as not scanned. See docs/decisions/0005-openings.md.
    """
    return opening.is_round and opening.diameter_mm >= SMALLEST_FITTING_MM


def sure_step(
    surface: Surface,
    panel: Panel,
    blank: Blank,
    spacing_mm: float,
    tapes_mm: tuple[float, ...],
    *,
    report: Report = silent,
) -> Sure:
    """Return how sure a blank's size is, by how it is worked and how it was measured."""
    errors = errors_of_panel(
        surface.working, panel, blank.flat, spacing_mm=spacing_mm, tapes_mm=tapes_mm
    )
    return sure(blank.flat, errors, report=report)


def stock_of(metal: MetalChoice) -> BendStock:
    """Return the sheet as it is bent: over the maker's own radius, else as its metal is known."""
    if metal.bend_radius_mm is not None:
        return BendStock(metal.thickness_mm, metal.bend_radius_mm)
    known = metal_or_none(metal.alloy, METALS)
    radius = None if known is None else known.bend_radius_at(metal.thickness_mm)
    return BendStock(metal.thickness_mm, None if radius is None else radius.value)


def paper_step(
    cut: Panels,
    panel: Panel,
    blank: Blank,
    found: Sure,
    leaving: Leaving,
    *,
    report: Report = silent,
) -> Pattern:
    """Return the blank dressed: net, trim, marks; both sides of a seam carry the same letter.

    Ticks, grid and contours come on top where it is shown, in the unit it is shown in.

    Allowances are the maker's, edge by edge, and as much more as makes the cut line cover what is
    not sure. Those of edges this panel does not have are passed over: see `idle_edges`.
    """
    letters = edge_letters([(each, each.mesh.vertices) for each in cut.panels])[panel.name]
    openings, lines = _fitted(leaving.fittings, cut, panel, blank)
    keys = {edge_key(edge) for edge in rim_edges(blank.flat, panel.seam_halves, letters)}
    pattern = bare_pattern(
        blank.flat,
        replace(panel, filled=blank.filled, openings=openings),
        letters=letters,
        trim_mm=leaving.trim_mm,
        allowances={edge.edge: edge.allowance for edge in leaving.edges if edge.edge in keys},
        growth=found.growth,
        stock=leaving.stock,
        report=report,
    )
    flanged = {edge.edge for edge in leaving.edges if edge.kind == "flange"}
    pattern = replace(pattern, lip_edges=edges_with_lip(panel, pattern.edges, flanged))
    return with_fitting_lines(pattern, blank.flat, lines) if lines else pattern


def _fitted(
    fittings: FittingCuts | None, cut: Panels, panel: Panel, blank: Blank
) -> tuple[tuple[Opening, ...], list[FloatArray]]:
    """Return the openings a blank is cut for after forming, and the lines round those set anew."""
    if fittings is None:
        return blank.openings, []
    new = fittings.on_panel(panel, cut.panels)
    openings = (*fittings.openings(blank.openings), *(each.opening for each in new))
    return openings, [line for each in new for line in each.lines]


def thickness_step(blank: Blank, *, report: Report = silent) -> Thicknesses:
    """Return how thick a panel ends on average, made three ways."""
    return thicknesses(blank.flat, report=report)

"""What sheet a job takes, and which of its panels a leak test pushes on hardest."""

from app.job.metals_file import Metals, metal_or_none
from app.job.results import Panels
from app.job.state import JobState
from app.job.steps import made, panel_names
from geometry.gauges import pressure_load
from geometry.metal import METALS, SheetUse, blank_use, sheet_use
from geometry.pattern import Pattern


def sheet_use_of(state: JobState, metals: Metals | None = None) -> SheetUse | None:
    """Return what the blanks made so far take; None without any, or where the metal is not known.

    Parameters
    ----------
    state : JobState
    metals : mapping of name to SheetMetal, optional
        The maker's own among them; those known from the start if not given.
    """
    metal = metal_or_none(state.metal.alloy, METALS if metals is None else metals)
    if metal is None:
        return None
    blanks = []
    for panel in panel_names(state):
        pattern: Pattern | None = made(state, "Paper", panel)
        if pattern is not None:
            outline = pattern.net if pattern.trim is None else pattern.trim
            blanks.append(blank_use(panel, outline))
    return sheet_use(metal, state.metal.thickness_mm, blanks) if blanks else None


def largest_face_of(state: JobState, pressure_kpa: float) -> tuple[str, float] | None:
    """Return the panel on which pressure pushes hardest and with how many newtons; None without."""
    cut: Panels | None = made(state, "Seams")
    if cut is None or not cut.panels:
        return None
    loads = [
        (pressure_load(panel.outside, panel.mesh.faces, pressure_kpa), panel.name)
        for panel in cut.panels
    ]
    load, name = max(loads)
    return name, load

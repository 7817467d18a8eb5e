"""Proposed break-ups as they leave the program: one page, a seams file to take one from, JSON."""

import math
from datetime import date

import numpy as np

from app.delivery.findings import Json
from app.delivery.results import SCHEMA, json_text
from app.delivery.sheets import job_facts, tank_in_panels
from app.exports import (
    BreaksSheet,
    BreakUpShown,
    Show,
    TankModel,
    sheaf_bytes,
    sheaf_of_breaks,
)
from app.job import (
    BreakUp,
    JobState,
    Proposed,
    ToPropose,
    breakup_of,
    breakup_row,
    directions_of,
    made,
    seams_bytes,
    seams_in_mm,
)
from geometry.breakups import BreakUpFigures, Choice, PanelFigures, SeamMove
from geometry.panels import cut_along, panels

BREAKS_JSON, BREAKS_PDF, BREAKS_SEAMS = "breaks.json", "breaks.pdf", "seams.json"


def breaks_files(
    state: JobState, asked: ToPropose, found: Proposed, *, dated: date, show: Show = "mm"
) -> dict[str, bytes]:
    """Return the files of proposed break-ups by name."""
    size = made(state, "Size")
    facts = job_facts(state, size, dated=dated, show=show)
    in_mm = tuple(breakup_of(choice, 1.0) for choice in found.study.choices)
    kept = JobState(directions=directions_of(state), breakups=in_mm)
    result = breaks_result(found)
    files = {BREAKS_SEAMS: seams_bytes(kept, "mm")}
    if found.breakups:
        shown = [
            BreakUpShown(breakup_row(each.name, figures, show), tank_of(asked, each))
            for each, figures in zip(found.breakups, found.figures, strict=True)
        ]
        files[BREAKS_PDF] = sheaf_bytes(sheaf_of_breaks(BreaksSheet(facts, shown)))
    result["files"] = sorted([*files, BREAKS_JSON])
    files[BREAKS_JSON] = json_text(result).encode()
    return files


def tank_of(asked: ToPropose, breakup: BreakUp) -> TankModel:
    """Return the tank split as a break-up says, for pictures, on the coarse surface."""
    scale = asked.mm_per_unit
    cut = cut_along(asked.coarse, seams_in_mm(breakup.seams, scale))
    named = [(each.name, np.array(each.inside) * scale) for each in breakup.panel_names]
    return tank_in_panels(cut, panels(cut, named), asked.by.directions)


def breaks_result(found: Proposed) -> Json:
    """Return proposed break-ups as JSON; lengths mm, areas mm2, stretches formed over flat."""
    choices = [
        _choice(choice, breakup, figures, found.study.edge_mm)
        for choice, breakup, figures in zip(
            found.study.choices, found.breakups, found.figures, strict=True
        )
    ]
    return {
        "schema": SCHEMA,
        "choices": choices,
        "none_found": list(found.study.none_found),
        "tried": found.study.tried,
    }


def _choice(choice: Choice, breakup: BreakUp, figures: BreakUpFigures, edge_mm: float) -> Json:
    """Return a choice with its figures as cut; `study` has those of the search, on its triangles.

    What moving a seam would change is told of the search's figures, and to be held against them.
    """
    return {
        "name": choice.name,
        "pieces": choice.pieces,
        "work": _known(figures.work_mm2),
        "worst_stretch": _known(figures.worst_stretch),
        "worst_shrink": _known(figures.worst_shrink),
        "weld": figures.weld_mm,
        "seen": figures.seen_mm,
        "hidden": figures.hidden_mm,
        "metal": _known(figures.metal_mm2),
        "longest": _known(figures.longest_mm),
        "locked": list(figures.held),
        "lifts_out": not figures.held,
        "price": choice.price,
        "study": {
            "work": choice.work,
            "worst_stretch": choice.worst_stretch,
            "worst_shrink": choice.worst_shrink,
            "weld": choice.weld_mm,
            "edge": edge_mm,
        },
        "panels": [_panel(panel) for panel in figures.panels],
        "seams": [
            {"name": line.name, "closed": line.closed, "mirror_of": line.mirror_of or None,
             "length": told.length_mm, "seen": told.seen_mm, "hidden": told.hidden_mm}
            for line, told in zip(breakup.seams, figures.seams, strict=True)
        ],
        "moves": [_move(move) for move in choice.moves],
    }  # fmt: skip


def _panel(panel: PanelFigures) -> Json:
    return {
        "panel": panel.name,
        "work": _known(panel.work_mm2),
        "worst_stretch": _known(panel.worst_stretch),
        "worst_shrink": _known(panel.worst_shrink),
        "thinnest": _known(panel.thinnest_mm),
        "thickest": _known(panel.thickest_mm),
        "cut": [_known(side) for side in panel.cut_mm],
        "formed_area": panel.formed_area_mm2,
        "blank_area": _known(panel.blank_area_mm2),
        "lifts_out": panel.lift.is_free,
        "locked_area": panel.lift.locked_area_mm2,
        "past_square": panel.lift.angle_rad,
        "draft": panel.lift.draft_rad,
    }


def _move(move: SeamMove) -> Json:
    return {
        "seam": move.seam,
        "by": move.by_mm,
        "towards": [float(value) for value in move.towards],
        "work": _known(move.work),
        "worst_stretch": _known(move.worst_stretch),
        "worst_shrink": _known(move.worst_shrink),
        "weld": _known(move.weld_mm),
    }


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None

"""What a flange's run sheet leads to: the lip's root line as a seam, the flange on the blanks."""

import math
from dataclasses import replace

import numpy as np

from app.job.choices import (
    ON_LINE,
    RIM,
    EdgeChoice,
    FlangeChoice,
    FlangesChoice,
    JobState,
    SeamLine,
)
from app.job.edits.paper import with_edge
from app.job.edits.rest import with_rest
from app.job.edits.scan_to_blanks import with_seam
from app.job.making import Panels, lies_left
from app.job.rest import FlangeMade, Flanges, LipThereError
from app.job.steps import made
from geometry.arrays import FloatArray
from geometry.datum import Point3
from geometry.pattern import MOST_FLANGE_DEG, edge_key
from geometry.tank import Lip

ROOT_SEAM = "lip root"
_EVERY = 2
"""Of a root line's points, 5 mm apart, every second leads the seam."""


def with_lip_cut_off(state: JobState, number: int) -> JobState:
    """Return the job with a lip's root line as a seam, and the flange to be new along it.

    The same job where the flange, counted from 0, is not made or runs along no lip to cut off.
    """
    flanges: Flanges | None = made(state, "Flanges")
    size = made(state, "Size")
    if flanges is None or size is None or not number < len(flanges.made):
        return state
    found = flanges.made[number]
    if found.lip is None or any(seam.name == ROOT_SEAM for seam in state.seams):
        return state
    line = _root_with_ends(found.lip)
    places = flanges.axes.from_tank(line) / float(size.mm_per_unit)
    points: tuple[Point3, ...] = tuple((x, y, z) for x, y, z in places.tolist())
    on = () if found.lip.is_closed else ("rim", *("" for _ in points[2:]), "rim")
    seam = SeamLine(ROOT_SEAM, points, found.lip.is_closed, on)
    along = replace(found.choice, edge=ROOT_SEAM, side="left", lip="cut off")
    return with_rest(with_seam(state, seam), flanges=_with_run(state, number, along))


def with_flange_on_blanks(state: JobState, number: int) -> JobState:
    """Return the job with a flange, counted from 0, left on the edges of the blanks it belongs to.

    Along a seam on the panels of its side; along the open edge on all free edges of panels whose
    patterns are made. The same job where there is none, or the flange is not made.

    Raises
    ------
    LipThereError
        The lip is kept in the panel: its metal would be counted twice.
    """
    flanges: Flanges | None = made(state, "Flanges")
    if flanges is None or not number < len(flanges.made):
        return state
    found = flanges.made[number]
    if found.is_kept_lip and found.lip is not None:
        turn = float(np.median(np.abs(found.lip.turn_rad)))
        raise LipThereError(float(np.median(found.lip.width_mm)), turn, found.lip.length_mm)
    for panel, edge in blank_edges(state, found.choice):
        angle = _mean_turn_deg(found)
        kept = EdgeChoice(panel, edge, "flange", found.choice.width_mm, angle)
        state = with_edge(state, kept)
    return state


def blank_edges(state: JobState, choice: FlangeChoice) -> tuple[tuple[str, str], ...]:
    """Return the edges (panel, key) of the blanks that a flange belongs to; none where not cut."""
    cut: Panels | None = made(state, "Seams")
    if cut is None or choice.edge.startswith(ON_LINE):
        return ()
    if choice.edge == RIM:
        patterns = [(panel.name, made(state, "Paper", panel.name)) for panel in cut.panels]
        return tuple(
            (name, edge_key(edge))
            for name, pattern in patterns
            if pattern is not None
            for edge in pattern.edges
            if not (edge.seam or edge.other)
        )
    path = next((each for each in cut.cut.seam_paths if each.name == choice.edge), None)
    if path is None:
        return ()
    return tuple(
        (panel.name, f"{half.seam}|{half.other}")
        for panel in cut.panels
        for half in panel.seam_halves
        if half.seam == choice.edge and lies_left(panel, half, path) == (choice.side == "left")
    )


def _mean_turn_deg(found: FlangeMade) -> float:
    """Return how far a blank's flange is folded, degrees, to the tank's inside above 0."""
    turns = [station.turn_rad for station in found.run.stations]
    turn = min(math.degrees(float(np.mean(turns))), MOST_FLANGE_DEG)
    return round(turn if found.choice.to == "inside" else -turn, 1)


def _with_run(state: JobState, number: int, choice: FlangeChoice) -> FlangesChoice | None:
    chosen = state.rest.flanges
    if chosen is None:
        return None
    runs = (*chosen.runs[:number], choice, *chosen.runs[number + 1 :])
    return replace(chosen, runs=runs)


def _root_with_ends(lip: Lip) -> FloatArray:
    """Return a root line led out to the rim at both its ends."""
    root = lip.root[::_EVERY]
    if lip.is_closed:
        return root
    return np.concatenate([lip.rim[:1], root, lip.root[-1:], lip.rim[-1:]])

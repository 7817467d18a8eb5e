"""The further keys of a blank's JSON: what its metal is asked for, how thick it ends, its edges."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

import numpy as np

from app.job import PanelGuide, Thicknesses
from geometry.metal import Figure
from geometry.pattern import EdgeCut, Gather, Mating, Outline, Pattern, RollLine, outline_curves

Json = dict[str, Any]


def guide_json(found: PanelGuide | None) -> Json | None:
    """Return what a panel asks of its metal; null where the metal is not known."""
    if found is None:
        return None
    guide = found.guide
    figures = {"elongation": guide.elongation, "annealed": guide.annealed}
    return {
        "metal": guide.metal.name,
        **{name: _value(figure) for name, figure in figures.items()},
        "sources": {name: None if f is None else f.source for name, f in figures.items()},
        "most_stretch": 1.0 + found.asked,
        "share_beyond": found.share_beyond,
        "work": guide.largest_work,
        "anneals": guide.anneals,
        "least_thickness": guide.least_mm,
        "thin_area": guide.thin_area,
    }


def _value(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value


def cases_json(found: Thicknesses | None) -> Json | None:
    """Return the three thickness cases; null where the blank did not settle."""
    if found is None or found.cases is None:
        return None
    cases = found.cases
    return {
        name: {"blank_area": case.blank_area, "mean": case.mean_ratio, "limit": case.limit}
        for name, case in (
            ("all_stretched", cases.all_stretched),
            ("equal_area", cases.equal_area),
            ("none_stretched", cases.none_stretched),
        )
    }


def edges_json(pattern: Pattern) -> list[Json]:
    """Return every edge's length flat and formed, along the net line and along the cut line."""
    cut = {gather.letter: gather for gather in pattern.cut_gathers}
    return [
        {
            "edge": edge.letter,
            "seam": edge.seam or None,
            "other": edge.other or None,
            "flat": edge.flat_mm,
            "formed": edge.formed_mm,
            "cut_flat": _total(cut.get(edge.letter), 0),
            "cut_formed": _total(cut.get(edge.letter), 1),
            "key": left.key,
            "allowance": allowance_json(left),
        }
        for edge, left in zip(pattern.edges, pattern.allowance_of_edge, strict=True)
    ]


def matings_json(pairs: Sequence[Mating]) -> list[Json]:
    """Return every two edges that are to be welded together, by letter."""
    return [
        {
            "letter": pair.letter,
            "seam": pair.seam,
            "panels": list(pair.panels),
            "flat": list(pair.flat_mm),
            "formed": list(pair.formed_mm),
            "marks": list(pair.marks),
            "marks_apart": pair.marks_apart_mm if isfinite(pair.marks_apart_mm) else None,
            "fits": pair.fits,
        }
        for pair in pairs
    ]


def allowance_json(left: EdgeCut) -> Json:
    """Return what is left outside the net line along an edge; an angle only of a flange."""
    allowance = left.allowance
    return {
        "kind": allowance.kind,
        "width": allowance.width_mm,
        "angle_degrees": allowance.angle_deg if allowance.kind == "flange" else None,
        "corner": allowance.corner,
        "grown_by": left.grown_by_mm,
        "cut": left.cut_mm,
    }


def outline_json(pattern: Pattern, kind: Outline) -> Json:
    """Return what the outlines in cutting files are made of, and how near they run."""
    curves = outline_curves(pattern, kind)
    return {
        "kind": kind,
        "points_per_metre": curves.points_per_metre,
        "largest_off": curves.largest_off_mm,
    }


def _total(gather: Gather | None, which: int) -> float | None:
    return None if gather is None else gather.total_mm[which]


def rolls_json(pattern: Pattern) -> list[Json]:
    """Return every roll line and fold by its ends on the blank and its sweep radius there."""
    return [_roll(roll) for roll in pattern.rolls]


def _roll(roll: RollLine) -> Json:
    return {
        "kind": "fold" if roll.is_fold else "roll",
        "ends": [[float(value) for value in roll.points[at]] for at in (0, -1)],
        "radii": [float(roll.radii[at]) for at in (0, -1)],
        "turn_degrees": float(np.degrees(roll.turn_rad)),
        "towards": "outside" if roll.towards_outside else "inside",
    }

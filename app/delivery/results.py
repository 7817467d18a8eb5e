"""The JSON results: a contract with whoever reads them. Lengths in mm, areas in mm2, plain ratios.

Their JSON schemas ship in `app/schemas`.
"""

import json
from collections.abc import Sequence

import numpy as np

from app.delivery.findings import Json, cases_json, edges_json, guide_json, rolls_json
from app.job import PanelGuide, Sure, Thicknesses
from geometry.arrays import BoolArray, FloatArray
from geometry.blank import FlatPanel
from geometry.datum import TapeCheck, TrueSize
from geometry.mesh import face_areas
from geometry.pattern import Pattern

SCHEMA = "lowcrown/1"


def json_text(value: Json) -> str:
    """Return JSON as it is written: the same value always the same text."""
    return json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def blank_result(
    panel: str,
    flat: FlatPanel,
    filled: BoolArray,
    files: Sequence[str],
    *,
    pattern: Pattern,
    sure: Sure | None = None,
    guide: PanelGuide | None = None,
    cases: Thicknesses | None = None,
    copied: BoolArray | None = None,
    schema: bool = False,
) -> Json:
    """Return the numbers of one blank.

    Parameters
    ----------
    panel : str
    flat : FlatPanel
    filled : (m,) bool
        Faces nobody scanned.
    files : sequence of str
        Names of the files written for it.
    pattern : Pattern
        The blank dressed: its edges and roll lines.
    sure : Sure, optional
        How sure the size is; both bands are null where that is not known.
    guide : PanelGuide, optional
        What it asks of its metal; null where the metal is not known.
    cases : Thicknesses, optional
        How thick it ends, made three ways.
    copied : (j,) bool, optional
        The first faces: those made from the tank's other side. None where there are none.
    schema : bool
        Whether the object stands alone and names its schema.
    """
    areas = face_areas(flat.vertices, flat.faces)
    found: Json = {
        "panel": panel,
        "faces": len(flat.faces),
        "formed_area": flat.formed_area,
        "blank_area": flat.blank_area,
        "rim_formed": flat.rim_formed,
        "rim_blank": flat.rim_blank,
        "work": _work(flat),
        "stretch": _stretch(flat),
        "thickness": {
            "smallest": float(flat.thickness.min()),
            "largest": float(flat.thickness.max()),
        },
        "converged": bool(flat.converged),
        "residual": float(flat.residual),
        "iterations": int(flat.iterations),
        "inverted": int(flat.inverted),
        "unsound_faces": int(flat.unsound_faces),
        "overlap_area": float(flat.overlap_area),
        "overlap_place": place_or_none(flat.overlap_place),
        "unsound_place": place_or_none(flat.unsound_place),
        "bands": _bands(sure),
        "metal_guide": guide_json(guide),
        "thickness_cases": cases_json(cases),
        "edges": edges_json(pattern),
        "rolls": rolls_json(pattern),
        "no_data_area": float(areas[filled].sum()),
        "copied_area": 0.0 if copied is None else float(areas[: len(copied)][copied].sum()),
        "files": list(files),
    }
    return {"schema": SCHEMA, **found} if schema else found


def _work(flat: FlatPanel) -> Json:
    return {
        "measure": flat.work.measure,
        "weight": flat.work.weight,
        "hardening": flat.work.hardening,
        "bias": flat.work.bias,
        "mean": flat.mean_work,
    }


def _stretch(flat: FlatPanel) -> Json:
    areas = flat.formed_areas
    larger, smaller = flat.stretches[:, 0], flat.stretches[:, 1]
    return {
        "smallest": float(smaller.min()),
        "p01": weighted_share(smaller, areas, 0.01),
        "median": weighted_share(np.sqrt(larger * smaller), areas, 0.5),
        "p99": weighted_share(larger, areas, 0.99),
        "largest": float(larger.max()),
    }


def place_or_none(point: FloatArray) -> list[float] | None:
    """Return a place as a list, or None where it is not-a-number: nowhere.

    >>> place_or_none(np.array([1.0, 2.5])), place_or_none(np.array([np.nan, 0.0]))
    ([1.0, 2.5], None)
    """
    return [float(value) for value in point] if np.isfinite(point).all() else None


def _bands(sure: Sure | None) -> Json:
    if sure is None or sure.bands is None:
        return {"model": None, "measuring": None}
    return dict(sure.bands.bands())


def weighted_share(values: FloatArray, weights: FloatArray, share: float) -> float:
    """Return the value that a share of the weight lies at or below.

    >>> weighted_share(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0]), 0.5)
    2.0
    """
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    place = int(np.searchsorted(reached, share * reached[-1]))
    return float(values[order[min(place, len(values) - 1)]])


def summary_result(
    panels: Sequence[Json], size: TrueSize, files: Sequence[str], standing: Json | None = None
) -> Json:
    """Return the numbers of a whole job; `standing` tells how its tank stands, see there."""
    return {
        "schema": SCHEMA,
        "panels": list(panels),
        "size": size_json(size),
        **(standing or {}),
        "files": list(files),
    }


def size_json(size: TrueSize) -> Json:
    """Return the size taken, and every tape beside the scan."""
    return {
        "unit": size.unit,
        "tapes": [_tape_result(check, size.mm_per_unit) for check in size.checks],
        "proved": size.proved,
    }


def _tape_result(check: TapeCheck, mm_per_unit: float) -> Json:
    """Return one tape beside the scan; places in the file's axes."""
    tape = check.tape
    return {
        "start": [value * mm_per_unit for value in tape.start],
        "end": [value * mm_per_unit for value in tape.end],
        "over": tape.over,
        "kind": tape.kind,
        "points": [[value * mm_per_unit for value in point] for point in tape.picks],
        "taped": tape.length_mm,
        "scan": check.scan_mm,
        "off": check.off_mm,
        "allowed": check.allowed_mm,
        "agrees": check.agrees,
        "followed": check.followed_mm,
        "gap": check.gap_mm,
        "closed": check.is_closed,
    }

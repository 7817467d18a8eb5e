"""How sure a blank's size is: what it was measured with, and the bands that come of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from app.units import upward_text
from geometry.arrays import BoolArray, FloatArray
from geometry.blank import FlatPanel, MeasuringErrors, Sureness, scale_error_of_tapes, sureness
from geometry.panels import Panel
from geometry.progress import Report, silent
from geometry.surface import WorkingSurface

REASONS = {
    "points": "scatter of the scan's points",
    "passes": "passes of the scanner that do not line up",
    "creases": "creases finer than the scan",
    "edge": "where the scan's own edge lies",
    "tapes": "tapes",
}
"""What makes a size unsure, as a shaper reads it."""

NO_REASON_MM = 0.05

WIDE_MM = 40.0
"""Over half of what distance errors of a scanner's passes go together; common practice, no source.
"""


@dataclass(frozen=True, eq=False)
class Sure:
    """The bands of one blank, or none where it did not settle.

    Attributes
    ----------
    bands : Sureness or None
    """

    bands: Sureness | None

    @property
    def growth(self) -> FloatArray | None:
        """Return (k,), mm: what the cut line stands further out at every vertex of the rim."""
        return None if self.bands is None else self.bands.cut_allowance

    @property
    def most_growth_mm(self) -> float:
        """Return the most of it; 0 where it is not known."""
        return 0.0 if self.growth is None else max(0.0, float(self.growth.max()))


def sure(flat: FlatPanel, errors: MeasuringErrors, *, report: Report = silent) -> Sure:
    """Return how sure a blank's size is."""
    return Sure(sureness(flat, errors, report=report) if flat.converged else None)


def scale_error(tapes_mm: Sequence[float]) -> float:
    """Return the standard error of the size's scale, no unit; 0 where nothing was taped.

    Without a tape the size is only said, and nothing may be cut from it.

    >>> scale_error(()), scale_error((300.0, 400.0))
    (0.0, 0.001)
    """
    return scale_error_of_tapes(list(tapes_mm)) if tapes_mm else 0.0


def errors_of_panel(
    working: WorkingSurface,
    panel: Panel,
    flat: FlatPanel,
    *,
    spacing_mm: float,
    tapes_mm: Sequence[float],
) -> MeasuringErrors:
    """Return what a panel cut from a working surface was measured with.

    Every vertex is as sure as the nearest of the working surface. The rim is exact where it was cut
    along a seam; elsewhere it is the scan's own edge.

    Parameters
    ----------
    working : WorkingSurface
    panel : Panel
    flat : FlatPanel
        Its first vertices are the panel's; further ones fill openings.
    spacing_mm : float
        The scan's own.
    tapes_mm : sequence of float
    """
    on_seam = np.zeros(len(flat.vertices), bool)
    for half in panel.seam_halves:
        on_seam[half.vertices] = True
    return errors_of_scan(
        working,
        panel.outside,
        flat,
        is_scans_edge=~on_seam[flat.rim],
        spacing_mm=spacing_mm,
        tapes_mm=tapes_mm,
    )


def errors_of_scan(
    working: WorkingSurface,
    outside: FloatArray,
    flat: FlatPanel,
    *,
    is_scans_edge: BoolArray,
    spacing_mm: float,
    tapes_mm: Sequence[float],
) -> MeasuringErrors:
    """Return what a blank was measured with, laid out from some of a working surface.

    Chance is the working surface's. Passes of a scanner lie off one another by about as much as
    points of one pass scatter (common practice, no source), over wide places. Where the scan is too
    coarse for a crease, and where beside its last points an edge lies, no averaging helps: an edge
    lies anywhere within half the scan's spacing h of its points, with standard error h / sqrt(12).

    Parameters
    ----------
    working : WorkingSurface
    outside : (j, 3) float, mm
        Places on the scanned face of the blank's first vertices; the rest fill openings, and are as
        little sure as the least sure of them.
    flat : FlatPanel
    is_scans_edge : (k,) bool
        Where the rim is the scan's own edge.
    spacing_mm : float
        The scan's own.
    tapes_mm : sequence of float
    """
    near = np.asarray(cKDTree(working.outside).query(outside)[1], np.int64)
    unseen = working.sag_between_points(spacing_mm)

    def at_vertices(of_working: FloatArray) -> FloatArray:
        known = of_working[near]
        out = np.full(len(flat.vertices), float(known.max(initial=0.0)))
        out[: len(known)] = known
        return out

    return MeasuringErrors(
        surface_mm=at_vertices(working.error_mm),
        correlation_mm=working.correlation_mm,
        rim_mm=np.where(is_scans_edge, at_vertices(working.rim_error_mm)[flat.rim], 0.0),
        scale=scale_error(tapes_mm),
        wide_mm=working.noise_mm,
        wide_correlation_mm=WIDE_MM,
        unseen_mm=at_vertices(unseen),
        rim_shift_mm=np.where(is_scans_edge, spacing_mm / np.sqrt(12.0), 0.0),
    )


_NO_BAND_MM = 1e-9
"""A band no wider says nothing."""


def sure_words(found: Sure | None, show: str = "mm", *, bare: Sequence[str] = ()) -> str:
    """Return how sure the size is, in one sentence of three parts; "" where that is not known.

    Parameters
    ----------
    found : Sure or None
    show : "mm" or "in"
    bare : sequence of str
        Letters of edges cut on their net line: nothing comes on top there.

    >>> sure_words(None)
    ''
    """
    if found is None or found.bands is None:
        return ""
    bands = found.bands
    measuring, model = (
        f"\u00b1{upward_text(by, show)}" for by in (bands.measuring_mm, bands.model_mm)
    )
    worked = bands.model_mm > _NO_BAND_MM
    what = "both" if worked else "that"
    cover = f"The cut line covers {what}"
    if found.most_growth_mm > 1e-9:
        further = upward_text(found.most_growth_mm, show)
        cover = f"The cut line stands up to {further} further out to cover {what}"
    cover += f", but not along {' and '.join(bare)}, cut to size." if bare else "."
    told = f"; depending on how you work it {model}" if worked else ""
    return f"Size sure to {measuring}{told}. {cover}"


def reason_words(found: Sure, show: str = "mm") -> str:
    """Return what makes the size unsure where it is least sure, the most first; "" for nothing."""
    if found.bands is None:
        return ""
    parts = [
        f"{REASONS[kind]} \u00b1{upward_text(by, show)}"
        for kind, by in found.bands.measuring.reasons
        if by >= NO_REASON_MM
    ]
    return f"Least sure by {', '.join(parts)}." if parts else ""

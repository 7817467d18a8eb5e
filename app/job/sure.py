"""How sure a blank's size is: what it was measured with, and the bands that come of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from app.units import upward_text
from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, MeasuringErrors, Sureness, scale_error_of_tapes, sureness
from geometry.panels import Panel
from geometry.progress import Report, silent
from geometry.surface import WorkingSurface


@dataclass(frozen=True, eq=False)
class Sure:
    """The bands of one blank, or none where it did not settle.

    Attributes
    ----------
    bands : Sureness or None
    """

    bands: Sureness | None

    def trim_mm(self, asked_mm: float) -> float:
        """Return the trim asked for, or as much more as makes the cut line cover both bands."""
        return asked_mm if self.bands is None else self.bands.trim_covering(asked_mm)


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

    The rim is exact where it was cut along a seam. Elsewhere it is the scan's own edge, which lies
    anywhere within half the scan's spacing h of the tank's: its standard error is h / sqrt(12), as
    of any even distribution h wide.

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
    beside = np.asarray(cKDTree(working.outside).query(panel.outside)[1], np.int64)
    of_panel = working_errors(working)[beside]
    surface = np.full(len(flat.vertices), float(of_panel.max(initial=0.0)))
    surface[: len(of_panel)] = of_panel
    on_seam = np.zeros(len(flat.vertices), bool)
    for half in panel.seam_halves:
        on_seam[half.vertices] = True
    rim_mm = np.where(on_seam[flat.rim], 0.0, spacing_mm / np.sqrt(12.0))
    return MeasuringErrors(surface, correlation(working), rim_mm, scale_error(tapes_mm))


def working_errors(working: WorkingSurface) -> FloatArray:
    """Return the (n,) standard error of a working surface along its normal, mm."""
    return np.full(len(working.outside), working.noise_mm)


def correlation(working: WorkingSurface) -> float:
    """Return how far apart errors of a working surface go half together, mm."""
    return 0.0


def sure_words(found: Sure | None, trim_mm: float, show: str = "mm") -> str:
    """Return how sure the size is, in one sentence of three parts; "" where that is not known.

    >>> sure_words(None, 12.7)
    ''
    """
    if found is None or found.bands is None:
        return ""
    bands = found.bands
    measuring, model = (
        f"\u00b1{upward_text(by, show)}" for by in (bands.measuring_mm, bands.model_mm)
    )
    needed = found.trim_mm(trim_mm)
    cover = "The cut line covers both."
    if needed > trim_mm + 1e-9:
        cover = f"The cut line stands {upward_text(needed, show)} out to cover both."
    return f"Size sure to {measuring}; depending on how you work it {model}. {cover}"

"""`Draft`: break-ups judged while they are drawn, on a coarse surface, what stays the same kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank import Flattener, Work, in_common
from geometry.breakups.break_up_figures import BreakUpFigures
from geometry.breakups.panel_figures import PanelFigures, panel_figures, refused_figures
from geometry.breakups.seam_figures import SeenMark, Sight, figures_of_cut
from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.panels import Cutter, Panel, Seam, Surface, panels
from geometry.progress import Report, part_of, silent
from geometry.surface import filled_openings

_KEPT_PANELS = 60
_KEPT_LAYOUTS = 12
_ASKED = 2
_ALIKE = 0.5
"""Part of a panel's vertices an earlier one must have for its layout to be gone on from."""


@dataclass(frozen=True, eq=False)
class _Judged:
    """A panel judged before; the layout is let go sooner than the figures."""

    figures: PanelFigures
    layout: Flattener | None


class Draft:
    """A coarse surface on which break-ups are judged one after another.

    What a panel costs hangs on the panel alone: one that comes out of the cut as it did before is
    not laid flat again, and one that changed a little is laid flat from where it lay.

    Parameters
    ----------
    surface : WorkingSurface
        Coarse, triangles about 8 mm wide.
    sight : Sight, optional
        Where nobody looks; without one all seams are seen.
    sheet_mm, trim_mm : float
        Thickness of the sheet, and what is left round the net line.
    work : Work, optional
    """

    def __init__(
        self,
        surface: Surface,
        *,
        sight: Sight | None = None,
        sheet_mm: float = 1.6,
        trim_mm: float = 12.7,
        work: Work | None = None,
    ) -> None:
        self._cutter = Cutter(surface)
        self._sight = sight
        self._sheet_mm, self._trim_mm = sheet_mm, trim_mm
        self._work = Work() if work is None else work
        self._kept: dict[bytes, _Judged] = {}  # the one asked for last comes last

    def judged(
        self,
        seams: Sequence[Seam],
        *,
        named: Sequence[tuple[str, FloatArray]] = (),
        marks: Mapping[str, SeenMark] | None = None,
        report: Report = silent,
    ) -> BreakUpFigures:
        """Return what a break-up costs: the same, whatever was judged before.

        Parameters
        ----------
        seams : sequence of Seam
        named : sequence of (name, (3,) float)
            As for `geometry.panels.panels`.
        marks : mapping of seam name to "", "seen" or "hidden", optional
        report : Report

        Raises
        ------
        SeamError, NoPathError, PanelPointError
            As the cut does. A panel that cannot be laid flat raises nothing: its figures say why.
        """
        cut = self._cutter.cut(seams, report=part_of(report, 0.0, 0.6))
        parts = panels(cut, named)
        figures = []
        for k, panel in enumerate(parts):
            report(0.65 + 0.35 * k / len(parts), "laying the panels flat")
            figures.append(self._panel(panel))
        self._let_go()
        report(1.0, "laying the panels flat")
        return BreakUpFigures(tuple(figures), figures_of_cut(cut, self._sight, marks))

    def _panel(self, panel: Panel) -> PanelFigures:
        key = _key(panel)
        known = self._kept.pop(key, None)
        if known is None:
            known = self._laid_flat(panel)
        self._kept[key] = known
        return replace(known.figures, name=panel.name)

    def _laid_flat(self, panel: Panel) -> _Judged:
        try:
            mesh, _, _ = filled_openings(panel.mesh, None)
            layout = Flattener(mesh, near=self._nearly(mesh))
            flat = layout.flatten(self._work)
        except GeometryError as refusal:
            figures = refused_figures(panel.name, panel.mesh, panel.outside, refusal)
            return _Judged(figures, None)
        figures = panel_figures(
            panel.name, flat, panel.outside, sheet_mm=self._sheet_mm, trim_mm=self._trim_mm
        )
        return _Judged(figures, layout)

    def _nearly(self, mesh: TriMesh) -> Flattener | None:
        """Return the layout of the earlier panel most like a panel, if there is one much like it.

        Of those whose middles are nearest, the latest first among alike.
        """
        layouts = [old.layout for old in reversed(self._kept.values()) if old.layout is not None]
        middle = mesh.vertices.mean(axis=0)
        layouts.sort(key=lambda old: float(np.linalg.norm(old.mesh.vertices.mean(axis=0) - middle)))
        alike = [(in_common(old.mesh, mesh), -k, old) for k, old in enumerate(layouts[:_ASKED])]
        share, _, nearest = max(alike, default=(0.0, 0, None))
        return nearest if share > _ALIKE else None

    def _let_go(self) -> None:
        """Let go of what was asked for longest ago."""
        while len(self._kept) > _KEPT_PANELS:
            del self._kept[next(iter(self._kept))]
        for key in list(self._kept)[:-_KEPT_LAYOUTS]:
            self._kept[key] = _Judged(self._kept[key].figures, None)


def _key(panel: Panel) -> bytes:
    """Return what tells a panel from any other, however its vertices are numbered.

    Places are rounded: how they come out to the last digit hangs on the order of the cut.
    """
    both = np.round(np.concatenate([panel.mesh.vertices, panel.outside], axis=1), 6) + 0.0
    order = np.lexsort(both.T)
    rank = np.empty(len(order), np.int64)
    rank[order] = np.arange(len(order))
    corners = rank[panel.mesh.faces]
    first = corners.argmin(axis=1)[:, None]
    turned = np.take_along_axis(corners, (first + np.arange(3)) % 3, axis=1)
    faces = turned[np.lexsort(turned.T)]
    return sha256(both[order].tobytes() + faces.tobytes()).digest()

"""Panels' set-ups kept between tasks, so that making one another way starts from its last layout.

Kept where the task runs: in this process, or in the worker. Every answer starts from the layout of
plain work, whatever was asked before, so the same panel made the same way is the same blank. A
panel much like one kept, a seam moved, goes on from its layout: its blank differs from one made
afresh by rounding only, about 1e-10 mm.
"""

from collections import OrderedDict
from hashlib import sha256
from operator import itemgetter

from geometry.blank import CollapsedBlankError, FlatPanel, Flattener, Work, in_common
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent

MOST_PANELS = 8
MOST_FACES = 400_000
"""Of all panels kept: their factors' pattern takes about 1 kB a face."""

MUCH_ALIKE = 0.7
"""Part of their vertices in common for a panel to go on from the other's layout."""


class KeptPanel:
    """One panel's set-up, its layout for plain work, and the answers given so far."""

    def __init__(
        self, mesh: TriMesh, *, open_holes: bool, near: Flattener | None, report: Report
    ) -> None:
        share = part_of(report, 0.0, 0.5)
        self._ready = Flattener(mesh, open_holes=open_holes, near=near, report=share)
        self._answers: dict[tuple[Work, bool], FlatPanel] = {}
        try:
            plain = self._ready.flatten(Work(), report=part_of(report, 0.5, 1.0))
        except CollapsedBlankError:  # another work may still stand; each starts from the rough one
            return
        self._answers[Work(), False] = self._answers[Work(), True] = plain

    def alike(self, mesh: TriMesh) -> float:
        """Return which part of a panel this is, 0 where this one has no layout to go on from."""
        plain = self._answers.get((Work(), True))
        stands = plain is not None and plain.converged
        return in_common(mesh, self._ready.mesh) if stands else 0.0

    def laid(self, work: Work, *, exact: bool, report: Report) -> FlatPanel:
        """Return the blank for a work; see `Flatteners.laid`."""
        if (work, exact) not in self._answers:
            fresh = self.flattener()
            way = fresh.flatten if exact else fresh.flatten_as_far
            self._answers[work, exact] = way(work, report=report)
        return self._answers[work, exact]

    def flattener(self) -> Flattener:
        """Return the set-up, standing at the layout of plain work, for the caller's own use.

        Its layout and its kept factors are its own, so that no answer depends on another.
        """
        return self._ready.twin()


class Flatteners:
    """The last few panels' set-ups, found again by their triangles."""

    def __init__(self) -> None:
        self._kept: OrderedDict[bytes, tuple[int, KeptPanel]] = OrderedDict()

    def laid(
        self,
        mesh: TriMesh,
        work: Work,
        *,
        exact: bool = False,
        open_holes: bool = False,
        report: Report = silent,
    ) -> FlatPanel:
        """Return a panel's blank.

        Parameters
        ----------
        mesh : TriMesh
            One disk.
        work : Work
        exact : bool
            Take the bias as it stands; otherwise ease it until the blank is sound.
        open_holes : bool
        report : Report

        Raises
        ------
        NotADiskError, NonManifoldError, NoAreaError, CollapsedBlankError
        """
        panel = self.panel(mesh, open_holes=open_holes, report=part_of(report, 0.0, 0.7))
        flat = panel.laid(work, exact=exact, report=part_of(report, 0.7, 1.0))
        report(1.0, "finding the least work")
        return flat

    def panel(
        self, mesh: TriMesh, *, open_holes: bool = False, report: Report = silent
    ) -> KeptPanel:
        """Return a panel's set-up, made if it is not among those kept."""
        key = _key(mesh, open_holes)
        if key not in self._kept:
            near = self._near(mesh)
            made = KeptPanel(mesh, open_holes=open_holes, near=near, report=report)
            self._kept[key] = len(mesh.faces), made
        self._kept.move_to_end(key)
        while len(self._kept) > 1 and (
            len(self._kept) > MOST_PANELS
            or sum(faces for faces, _ in self._kept.values()) > MOST_FACES
        ):
            self._kept.popitem(last=False)
        return self._kept[key][1]

    def _near(self, mesh: TriMesh) -> Flattener | None:
        """Return the set-up of the kept panel most like a new one, or None where none is."""
        kept = [(panel.alike(mesh), panel) for _, panel in self._kept.values()]
        alike, panel = max(kept, key=itemgetter(0), default=(0.0, None))
        return panel.flattener() if panel is not None and alike > MUCH_ALIKE else None


def _key(mesh: TriMesh, open_holes: bool) -> bytes:
    digest = sha256(mesh.vertices.tobytes())
    digest.update(mesh.faces.tobytes())
    digest.update(bytes([open_holes]))
    return digest.digest()


KEPT = Flatteners()
"""Those of this process."""

"""Panels' set-ups kept between tasks, so that making one another way starts from its last layout.

Kept where the task runs: in this process, or in the worker. Every answer starts from the layout of
plain work, whatever was asked before, so the same panel made the same way is the same blank.
"""

from collections import OrderedDict
from hashlib import sha256

from geometry.blank import CollapsedBlankError, FlatPanel, Flattener, Work
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent

MOST_PANELS = 8
MOST_FACES = 400_000
"""Of all panels kept: their factors' pattern takes about 1 kB a face."""


class KeptPanel:
    """One panel's set-up, its layout for plain work, and the answers given so far."""

    def __init__(self, mesh: TriMesh, *, open_holes: bool, report: Report) -> None:
        self._ready = Flattener(mesh, open_holes=open_holes, report=part_of(report, 0.0, 0.5))
        self._answers: dict[tuple[Work, bool], FlatPanel] = {}
        try:
            plain = self._ready.flatten(Work(), report=part_of(report, 0.5, 1.0))
        except CollapsedBlankError:  # another work may still stand; each starts from the rough one
            return
        self._answers[Work(), False] = self._answers[Work(), True] = plain

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
            self._kept[key] = (
                len(mesh.faces), KeptPanel(mesh, open_holes=open_holes, report=report)
            )  # fmt: skip
        self._kept.move_to_end(key)
        while len(self._kept) > 1 and (
            len(self._kept) > MOST_PANELS
            or sum(faces for faces, _ in self._kept.values()) > MOST_FACES
        ):
            self._kept.popitem(last=False)
        return self._kept[key][1]


def _key(mesh: TriMesh, open_holes: bool) -> bytes:
    digest = sha256(mesh.vertices.tobytes())
    digest.update(mesh.faces.tobytes())
    digest.update(bytes([open_holes]))
    return digest.digest()


KEPT = Flatteners()
"""Those of this process."""

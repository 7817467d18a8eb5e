"""`SeamCourses`: how every seam runs over the skin, exactly; for the eye until that is known."""

from collections import OrderedDict
from typing import Any

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.job import JobState, SeamLine
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.ground_keeper import GroundKeeper
from app.window.seam_ground import Ground
from app.window.seam_on_scan import ExactLine
from geometry.arrays import FloatArray
from geometry.datum import Point3
from geometry.progress import Report, silent

Course = tuple[tuple[Point3, ...], bool]
"""What a line is drawn through, and whether it closes."""

_MOST_KEPT = 400


def course_of(seam: SeamLine) -> Course:
    """Return what a seam's line hangs on: not its name."""
    return seam.points, seam.closed


def exact_lines(
    ground: Ground, courses: tuple[Course, ...], *, report: Report = silent
) -> tuple[ExactLine, ...]:
    """Return the exact lines through points, file coordinates; empty where none runs."""
    lines = []
    for done, (points, closed) in enumerate(courses):
        report(done / len(courses), "")
        lines.append(ground.exact(np.array(points), closed=closed))
    report(1.0, "")
    return tuple(lines)


class SeamCourses(QObject):
    """Has exact lines worked out beside the window, and keeps them."""

    changed = Signal()

    def __init__(
        self, document: Document, bench: Bench, keeper: GroundKeeper, parent: QObject
    ) -> None:
        super().__init__(parent)
        self._document, self._bench, self._keeper = document, bench, keeper
        self._exact: OrderedDict[Course, ExactLine] = OrderedDict()
        self._for_the_eye: dict[Course, FloatArray] = {}
        self._told: tuple[FloatArray, ...] = ()
        self._of: Ground | None = None
        self._ahead: Course | None = None
        self._under_way: tuple[Errand, Ground, tuple[Course, ...]] | None = None
        document.changed.connect(self.want)
        keeper.ready.connect(self.want)
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._forget)
        bench.errand_stopped.connect(self._forget)

    def lines(self, state: JobState) -> tuple[FloatArray, ...] | None:
        """Return every seam as it runs, file coordinates; None while there is no ground."""
        ground = self._ground()
        if ground is None:
            return None
        now = tuple(self._line(seam, ground) for seam in state.seams)
        same = len(now) == len(self._told) and all(
            one is other for one, other in zip(now, self._told, strict=True)
        )
        if not same:
            self._told = now
        return self._told

    def _line(self, seam: SeamLine, ground: Ground) -> FloatArray:
        """Return how a seam runs: exactly, or for the eye; straight on where no line runs."""
        course = course_of(seam)
        exact = self._exact.get(course)
        if exact is not None and len(exact.points):
            return exact.points
        if course not in self._for_the_eye:
            points = np.array(seam.points)
            line = ground.quick(points, closed=seam.closed)
            straight = np.concatenate([points, points[:1]]) if seam.closed else points
            self._for_the_eye[course] = line if len(line) else straight
        return self._for_the_eye[course]

    def is_exact(self, seam: SeamLine) -> bool:
        """Return whether a seam's exact line is known."""
        return self._ground() is not None and course_of(seam) in self._exact

    def beside_mm(self, seam: SeamLine) -> float:
        """Return how far a seam's line on the scan lies from the line that is cut; 0 unknown."""
        exact = self._exact.get(course_of(seam)) if self.is_exact(seam) else None
        return 0.0 if exact is None else exact.beside_mm

    def draw_ahead(self, course: Course | None) -> None:
        """Have what is drawn of a seam worked out already: when it is done its last leg is left."""
        if course != self._ahead:
            self._ahead = course
            self.want()

    def want(self) -> None:
        """Have the exact lines worked out that are not known."""
        ground = self._ground()
        if ground is None:
            return
        courses = tuple(course_of(seam) for seam in self._document.state.seams)
        courses += () if self._ahead is None else (self._ahead,)
        missing = tuple(dict.fromkeys(each for each in courses if each not in self._exact))
        if not missing:
            return
        if self._under_way is not None:
            if self._under_way[1] is ground and set(missing) <= set(self._under_way[2]):
                return
            self._bench.drop(self._under_way[0])
        errand = Errand("Drawing the exact line", exact_lines, (ground, missing), "quick")
        self._under_way = (errand, ground, missing)
        self._bench.run_errand(errand)

    def _ground(self) -> Ground | None:
        """Return the ground as it stands; lines over another one are forgotten."""
        ground = self._keeper.ground()
        if ground is not None and ground is not self._of:
            self._of = ground
            self._exact.clear()
            self._for_the_eye.clear()
        return ground

    def _take(self, errand: Errand, lines: Any) -> None:
        if self._under_way is None or self._under_way[0] is not errand:
            return
        (_, ground, courses), self._under_way = self._under_way, None
        if self._ground() is ground:
            self._exact.update(zip(courses, lines, strict=True))
            self._for_the_eye.clear()
            while len(self._exact) > _MOST_KEPT:
                self._exact.popitem(last=False)
            self.changed.emit()
        self.want()

    def _forget(self, errand: Errand, *_: Any) -> None:
        if self._under_way is not None and self._under_way[0] is errand:
            self._under_way = None

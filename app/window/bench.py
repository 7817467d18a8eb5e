"""`Bench`: which work is due, one task after another, and results put into the document.

Scan, size, surface and cutting follow by themselves from what is decided; blanks and patterns are
made when asked for, blanks also for what their seams cost while seams are looked at. A result is
taken only while its inputs are still the document's.
"""

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any, Literal, TypeGuard

from PySide6.QtCore import QObject, QTimer, Signal

from app.job import (
    STEPS,
    JobState,
    StepState,
    Task,
    made,
    next_tasks,
    panel_names,
    part_state,
    task_for,
    with_failure,
    with_result,
)
from app.window.document import Document
from app.window.scene import PROXY_ABOVE, ProxyOf
from app.window.tasks import LANES, LaneName, Lent, Runnable, Tasks
from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.progress import Report

BY_ITSELF = "Seams"
"""The last step that is made without being asked for."""

MOST_PROXIES = 3
"""Light pictures of big meshes kept: the scan's, the tidied tank's, the mirrored one's."""

LANE_OF_STEP: dict[str, LaneName] = {"Size": "light", "Judged": "beside", "Advice": "beside"}
"""Where a step is made at once, whatever the heavy lane does; all others wait for that one."""

SHARED = "Blanks"
"""Made by the beside lane as well while it has nothing else to do, half the panels each."""

DOING = {
    "Scan": "Looking the scan over",
    "Size": "Checking the size",
    "Tidy": "Tidying the scan",
    "Datum": "Finding how the tank stands",
    "Halves": "Laying left against right",
    "Sides": "Copying a side",
    "Lines": "Looking for character lines",
    "Surface": "Laying a smooth surface",
    "Seams": "Cutting along the seams",
    "Blanks": "Laying flat",
    "Sure": "Working out how sure the size is",
    "Paper": "Dressing the pattern",
    "Thickness": "Telling how thick it ends, made three ways",
    "Difference": "Comparing the smooth surface with the scan",
    "Coarse": "Getting ready to judge seams",
    "Judged": "Judging the seams",
    "Advice": "Looking the seams over",
    "Stood": "Standing the tank up",
    "Costs": "Telling what the seams cost",
}

ON_THE_WAY = {
    "Blanks": (),
    "Sure": ("Blanks",),
    "Paper": ("Blanks", "Sure"),
    "Thickness": ("Blanks",),
}
"""Steps made for a panel when they are asked for, and those made for it first."""

TOLD_BESIDE = {"Tidy": ("Difference",), "Seams": ("Coarse", "Judged", "Advice", "Costs")}
"""Steps whose view tells what others make: those are made while the view is shown."""

BESIDES = tuple(row.name for row in STEPS if row.besides)
"""Steps that are none of the way to the panels: each is made while it, or the paper, is shown."""

STOOD = "Stood"
"""What all of them are made from."""

AFTER_BESIDE = {"Capacity": "Tunnel", "Frame fit": "Tunnel"}
"""Those of them that take up what another came to, where it is decided: that one is made first."""

BESIDE_FIRST = "Coarse"
"""Made before what follows by itself: the first answer about seams waits for nothing else."""

FIRST = ("Blanks", "Paper", "Thickness")
"""What is asked for of a panel is made in this order, for all panels before the next."""


@dataclass(frozen=True, eq=False)
class Errand:
    """Work the window itself asks for: read a file, write patterns; in the worker, or at once.

    The function of one that `is_shared` takes an `executor`, and both workers are at it.
    """

    words: str
    function: Callable[..., Any]
    arguments: tuple[Any, ...]
    lane: Literal["heavy", "quick"] = "heavy"
    is_shared: bool = False

    def run(self, report: Report) -> Any:
        """Return the result."""
        return self.function(*self.arguments, report=report)

    def run_by(self, hands: Executor, report: Report) -> Any:
        """Return the result, worked out by several."""
        return self.function(*self.arguments, executor=hands, report=report)


class Bench(QObject):
    """Keeps the lanes busy with what is due."""

    progressed = Signal(str, float, str)
    rested = Signal()
    wrong = Signal(str, object)
    errand_done = Signal(object, object)
    errand_failed = Signal(object, object)
    errand_stopped = Signal(object)
    tried = Signal(object, object)
    """A task that was only tried, and what it gave or the error it ended in."""

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self.tasks = Tasks(self)
        self._wanted: set[tuple[str, str]] = set()
        self._declined: list[Task] = []
        self._told_beside: tuple[str, ...] = ()
        self._errands: list[Errand] = []
        self._trial: Task | None = None
        self._trying: Task | None = None
        self._tried: tuple[Task, Any] | None = None
        self._lent: Lent | None = None
        self._lane_of: dict[str, LaneName] = {}
        self._proxies: list[tuple[TriMesh, FloatArray, IntArray]] = []
        self._unpictured: list[TriMesh] = []
        self._settle_soon = QTimer(self)
        self._settle_soon.setSingleShot(True)
        self._settle_soon.timeout.connect(self.settle)
        self._settling = False
        document.changed.connect(self.settle)
        self.tasks.reported.connect(self._report)
        self.tasks.finished.connect(self._finish)
        self.tasks.failed.connect(self._fail)
        self.tasks.stopped.connect(self._stopped)
        self.tasks.lent.connect(self._take_lent)

    # ---- what is asked for

    def want(self, step: str, parts: tuple[str, ...]) -> None:
        """Ask for parts of a step to be made in the background."""
        self._declined.clear()
        self._wanted.update((step, part) for part in parts)
        self.settle()

    def show_step(self, step: str) -> None:
        """Make what the view of a step tells besides, for as long as it is shown."""
        told = _told_beside(step)
        if self._told_beside != told:
            self._told_beside = told
            if "Judged" in self._told_beside:
                self.tasks.warm_beside()
            self.settle()

    def try_out(self, task: Task | None) -> None:
        """Run a task of a job that is only tried; of several the last one, as soon as it can be.

        What it gives counts as made once the job comes to be the one tried. None lets go of it.
        """
        self._trial = task
        self.settle()

    def run_errand(self, errand: Errand) -> None:
        """Run an errand as soon as its lane is free."""
        self._errands.append(errand)
        self.settle()

    def drop(self, errand: Errand) -> None:
        """Let go of an errand nobody waits for any longer, run or not yet."""
        if errand in self._errands:
            self._errands.remove(errand)
        elif self.tasks.running(errand.lane) is errand:
            self.tasks.stop(errand.lane)

    def stop(self) -> None:
        """Stop what runs and forget what was asked for; it stays undone until asked for again."""
        self._wanted.clear()
        for errand in self._errands:
            self.errand_stopped.emit(errand)
        self._errands.clear()
        self._trial = None
        self._declined += [task for task in self._running() if isinstance(task, Task)]
        self._declined += [*next_tasks(self._document.state, BY_ITSELF), *self._beside()]
        for lane in LANES:
            self.tasks.stop(lane)

    def go_on(self) -> None:
        """Do again what was stopped."""
        self._declined.clear()
        self.settle()

    @property
    def was_stopped(self) -> bool:
        """Whether work that is due was stopped by hand."""
        due = [*next_tasks(self._document.state, BY_ITSELF), *self._beside()]
        return any(_alike(task, declined) for task in due for declined in self._declined)

    @property
    def is_busy(self) -> bool:
        """Whether anything runs or waits."""
        return not self.tasks.is_idle

    @property
    def wanted(self) -> frozenset[tuple[str, str]]:
        """Steps and parts that wait to be made, or are being made."""
        return frozenset(self._wanted)

    def picture_of(self, mesh: TriMesh) -> tuple[FloatArray, IntArray] | None:
        """Return what to draw of a mesh: itself, or its proxy once that is made."""
        if len(mesh.faces) <= PROXY_ABOVE:
            return mesh.vertices, mesh.faces
        for known, vertices, faces in self._proxies:
            if known is mesh:
                return vertices, faces
        if not any(waits is mesh for waits in self._unpictured):
            self._unpictured.append(mesh)
            self._settle_soon.start(0)
        return None

    def close(self) -> None:
        """Stop everything for good."""
        self._document.changed.disconnect(self.settle)
        self.tasks.close()

    # ---- what is due

    def settle(self) -> None:
        """Stop what has become stale, and start what is due where a lane is free."""
        if self._settling:
            return
        self._settling = True
        self._take_tried()
        self._stop_stale()
        for lane in LANES:
            task = self._next(lane) if self.tasks.running(lane) is None else None
            if task is None:
                continue
            if isinstance(task, Task) and task.step == SHARED:
                self._lane_of[task.part] = lane
            self.tasks.run(task, lane)
            if lane == "heavy":
                self._report(task, 0.0, "")  # Stop is there before the worker says a word
        self._settling = False
        if self.tasks.is_idle:
            self.rested.emit()

    def _stop_stale(self) -> None:
        """Stop what the job no longer asks for; what is tried only where its lane is wanted."""
        state = self._document.state
        for lane in LANES:
            task = self.tasks.running(lane)
            if not isinstance(task, Task) or with_result(state, task, _TRIED) is not state:
                continue
            if task is not self._trying or _untried(state, task.step) is not None:
                self.tasks.stop(lane)

    def _next(self, lane: LaneName) -> Runnable | None:
        if lane == "heavy":
            return self._next_heavy()
        if lane == "quick":
            return self._next_errand(lane)
        own = self._due(lane)
        trial = self._trial_due() if lane == "beside" else None
        if trial is not None and (own is None or own.step == SHARED):
            self._trying = trial
            return trial
        if own is None and lane == "beside":
            lent, self._lent = self._lent, None
            return lent
        return own

    def _trial_due(self) -> Task | None:
        trial, tried = self._trial, self._tried
        return None if tried is not None and trial and _alike(tried[0], trial) else trial

    def _take_tried(self) -> None:
        """Take what was tried as made, where the job is now what was tried."""
        if self._tried is not None and not isinstance(self._tried[1], Exception):
            task, value = self._tried
            state = self._document.state
            if made(state, task.step, task.part) is None:
                self._document.take_result(with_result(state, task, value))

    def _running(self) -> list[Runnable]:
        return [task for lane in LANES if (task := self.tasks.running(lane)) is not None]

    def _next_heavy(self) -> Runnable | None:
        errand = self._next_errand("heavy")
        if errand is not None:
            return errand
        proxy = self._proxy_due()
        return proxy if proxy is not None else self._due("heavy")

    def _next_errand(self, lane: LaneName) -> Errand | None:
        errand = next((each for each in self._errands if each.lane == lane), None)
        if errand is not None:
            self._errands.remove(errand)
        return errand

    def _proxy_due(self) -> ProxyOf | None:
        under_way = self.tasks.running("heavy")
        if isinstance(under_way, ProxyOf):
            return None
        return ProxyOf(self._unpictured[-1]) if self._unpictured else None

    def _keep_proxy(self, mesh: TriMesh, vertices: FloatArray, faces: IntArray) -> None:
        self._unpictured = [waits for waits in self._unpictured if waits is not mesh]
        self._proxies = [*self._proxies, (mesh, vertices, faces)][-MOST_PROXIES:]
        self._document.changed.emit()

    def _due(self, lane: LaneName) -> Task | None:
        """Return what is to be made next in a lane."""
        due = list(next_tasks(self._document.state, BY_ITSELF))
        self._forget_made()
        for step, part in sorted(self._wanted, key=self._order):
            task = self._on_the_way(step, part)
            if task is not None and task not in due:
                due.append(task)
        due += self._beside()
        due.sort(key=lambda task: (task.step != BESIDE_FIRST, self._is_of_other(task, lane)))
        taken = [*self._declined, *(each for each in self._running() if isinstance(each, Task))]
        for task in due:
            its = LANE_OF_STEP.get(task.step, "heavy")
            shared = task.step == SHARED and lane == "beside"
            if (its == lane or shared) and not any(_alike(task, other) for other in taken):
                return task
        return None

    def _is_of_other(self, task: Task, lane: LaneName) -> bool:
        """Return whether a panel was laid flat in another lane before: its set-up is kept there."""
        return task.step == SHARED and self._lane_of.get(task.part, lane) != lane

    def _beside(self) -> list[Task]:
        """Return the tasks of what the view shown tells besides, where they were not tried yet."""
        state = self._document.state
        found: list[Task] = []
        for name in self._told_beside:
            task = _untried(state, name)
            if task is None and name == "Costs" and made(state, "Judged") is not None:
                blanks = (_untried(state, "Blanks", panel) for panel in panel_names(state))
                found += [blank for blank in blanks if blank is not None]
            if task is not None:
                found.append(task)
        return found

    def _on_the_way(self, step: str, part: str) -> Task | None:
        """Return the first task still to be done for a part of a step."""
        state = self._document.state
        for name in ON_THE_WAY[step]:
            if made(state, name, part) is None:
                return task_for(state, name, part)
        return task_for(state, step, part)

    def _order(self, wanted: tuple[str, str]) -> tuple[int, int]:
        names = panel_names(self._document.state)
        at = names.index(wanted[1]) if wanted[1] in names else len(names)
        return FIRST.index(wanted[0]), at

    def _forget_made(self) -> None:
        state = self._document.state
        known = set(panel_names(state))
        self._wanted = {
            (step, part)
            for step, part in self._wanted
            if part in known and made(state, step, part) is None
        }

    def _take_lent(self, lent: Lent) -> None:
        """Have done by the other worker what the first one lends, once it is free."""
        self._lent = lent
        self.settle()

    def _end_lending(self, errand: Errand) -> None:
        """Let go of what was lent by an errand that ended."""
        if errand.is_shared:
            self._lent = None

    # ---- what came of it

    def _report(self, task: Runnable, done: float, stage: str) -> None:
        """Pass on how far a task is; of two at once the heavy lane's, and nothing of a trial."""
        of_two = task is self.tasks.running("beside") and self.tasks.running("heavy") is not None
        if not of_two and task is not self._trying and not isinstance(task, Lent):
            self.progressed.emit(words_for(task), done, stage)

    def _finish(self, task: Runnable, value: Any) -> None:
        if self._was_only_tried(task):
            self._keep_tried(task, value)
        elif isinstance(task, Task):
            self._wanted.discard((task.step, task.part))
            after = with_result(self._document.state, task, value)
            if any(_alike(task, declined) for declined in self._declined):
                self._declined += next_tasks(after, BY_ITSELF)  # done before it heard of its stop
            self._document.take_result(after)
        elif isinstance(task, ProxyOf):
            self._keep_proxy(task.mesh, *value)
        elif isinstance(task, Errand):
            self._end_lending(task)
            self.errand_done.emit(task, value)
        elif isinstance(task, Lent):
            self.tasks.give_back(task, value)
        self.settle()

    def _was_only_tried(self, task: Runnable) -> TypeGuard[Task]:
        """Return whether what ended was only tried; the job may have come to it meanwhile."""
        if task is not self._trying or not isinstance(task, Task):
            return False
        self._trying, state = None, self._document.state
        return with_result(state, task, _TRIED) is state

    def _keep_tried(self, task: Task, value: Any) -> None:
        self._tried = (task, value)
        self.tried.emit(task, value)

    def _fail(self, task: Runnable, error: Exception) -> None:
        if self._was_only_tried(task):
            self._keep_tried(task, error)
        elif isinstance(task, Task):
            self._wanted.discard((task.step, task.part))
            self._wanted -= {
                (step, task.part) for step, before in ON_THE_WAY.items() if task.step in before
            }
            self._document.take_result(with_failure(self._document.state, task, error))
            self.wrong.emit(words_for(task), error)
        elif isinstance(task, ProxyOf):
            self._keep_proxy(task.mesh, task.mesh.vertices, task.mesh.faces)
            self.wrong.emit(words_for(task), error)
        elif isinstance(task, Errand):
            self._end_lending(task)
            self.errand_failed.emit(task, error)
        elif isinstance(task, Lent):
            self.tasks.give_back(task, None)
        self.settle()

    def _stopped(self, task: Runnable) -> None:
        if isinstance(task, Errand):
            self._end_lending(task)
            self.errand_stopped.emit(task)
        elif isinstance(task, ProxyOf):
            self._unpictured = [waits for waits in self._unpictured if waits is not task.mesh]
        elif isinstance(task, Lent):
            self.tasks.give_back(task, None)
        elif task is self._trying:
            self._trying = None
        self.settle()


_TRIED = object()


def _told_beside(step: str) -> tuple[str, ...]:
    if step == "Paper":
        return (STOOD, *BESIDES)
    if step in BESIDES:
        before = (AFTER_BESIDE[step],) if step in AFTER_BESIDE else ()
        return (STOOD, *before, step)
    return TOLD_BESIDE.get(step, ())


def _untried(state: JobState, step: str, part: str = "") -> Task | None:
    """Return the task of a part that is neither made nor failed; None where it has to wait."""
    if part_state(state, step, part) in {StepState.MADE, StepState.NEEDS_YOU}:
        return None
    return task_for(state, step, part)


def _alike(one: Task, other: Task) -> bool:
    return (
        one.step == other.step
        and one.part == other.part
        and all(a is b or a == b for a, b in zip(one.inputs, other.inputs, strict=True))
    )


def words_for(task: Runnable) -> str:
    """Return what a task does, as the bottom of the window says it."""
    if isinstance(task, Task):
        doing = DOING.get(task.step, f"Making: {task.step.lower()}")
        return doing + (f": {task.part}" if task.part else "")
    if isinstance(task, Errand):
        return task.words
    return "Lightening the picture of the scan"

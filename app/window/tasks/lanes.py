"""`Tasks`: four lanes, each doing one thing at a time.

The heavy lane is one worker process, spawned once and kept: what holds the interpreter lock cannot
hold the window there, and a crash is contained. The beside lane is another, spawned when first of
use: it judges seams while the heavy one cuts, and takes half of what can be shared. The light lane
is a thread, for what is short; the quick lane another, for what is looked at while it is drawn and
must wait for nothing.
"""

import contextlib
import multiprocessing
import pickle
import queue
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, Literal, get_args

from PySide6.QtCore import QObject, QTimer, Signal

from app.window.tasks.lent import Lent, Returned
from app.window.tasks.worker import (
    Failed,
    Finished,
    Reported,
    Runnable,
    Stopped,
    answer,
    failed,
    work,
)

LaneName = Literal["heavy", "beside", "light", "quick"]
LANES: tuple[LaneName, ...] = get_args(LaneName)
PATIENCE_MS = {"heavy": 700, "beside": 2500, "light": 700, "quick": 700}
"""How long a task asked to stop may take to do so before its process is ended.

The beside lane's is worth more: with it go the set-ups seams are judged anew from.
"""

Hear = Callable[[Any], None]


class WorkerLostError(Exception):
    """The worker process ended by itself: it ran out of memory, or a library ended it."""


class _LightLane:
    """A thread that runs tasks in this process."""

    def __init__(self, hear: Hear) -> None:
        self._hear = hear
        self._stop = threading.Event()
        self._queue: queue.SimpleQueue[tuple[int, Runnable] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._loop, name="light work", daemon=True)
        self._thread.start()

    def start(self, number: int, task: Runnable) -> None:
        self._stop.clear()
        self._queue.put((number, task))

    def stop(self) -> None:
        self._stop.set()

    def end(self) -> None:
        """Do nothing: a thread cannot be ended."""

    def close(self) -> None:
        self.stop()
        self._queue.put(None)
        self._thread.join(5.0)

    def send(self, message: Any, /) -> None:
        self._hear(message)

    def _loop(self) -> None:
        while (order := self._queue.get()) is not None:
            self._hear(answer(*order, self, self._stop))


class _HeavyLane:
    """A worker process, and the thread that talks to it."""

    def __init__(self, hear: Hear, *, is_warm: bool) -> None:
        self._hear = hear
        self._is_warm = is_warm
        self._context = multiprocessing.get_context("spawn")
        self._stop = self._context.Event()
        self._queue: queue.SimpleQueue[tuple[int, Runnable] | str | None] = queue.SimpleQueue()
        self._process: SpawnProcess | None = None
        self._orders: Connection | None = None
        self._answers: Connection | None = None
        self._closing = False
        self._thread = threading.Thread(target=self._loop, name="heavy work", daemon=True)
        self._thread.start()

    def start(self, number: int, task: Runnable) -> None:
        self._stop.clear()
        self._queue.put((number, task))

    def stop(self) -> None:
        self._stop.set()

    def end(self) -> None:
        """End the process; the next task gets a new one."""
        if self._process is not None:
            self._process.kill()

    def give_back(self, found: Returned) -> None:
        """Pass on what came of a thing lent; where the worker is gone, nobody waits for it."""
        with contextlib.suppress(OSError, AttributeError, ValueError):
            self._orders.send(found)  # type: ignore[union-attr]

    def warm(self) -> None:
        """Start the process, if it does not run, before there is anything to do."""
        if self._process is None:
            self._queue.put("warm")

    def close(self) -> None:
        self._closing = True
        self.stop()
        self._queue.put(None)
        self.end()
        self._thread.join(5.0)

    def _loop(self) -> None:
        if self._is_warm:
            self._warm()
        while (order := self._queue.get()) is not None:
            if isinstance(order, str):
                self._warm()
            else:
                self._hear(self._answered(*order))
        self._part()

    def _warm(self) -> None:
        with contextlib.suppress(Exception):  # the first task tells if it fails
            self._ready()

    def _answered(self, number: int, task: Runnable) -> Finished | Stopped | Failed:
        try:
            orders, answers = self._ready()
            travelling = pickle.dumps(task)
            orders.send(number)
            orders.send_bytes(travelling)
            while isinstance(message := answers.recv(), Reported | Lent):
                self._hear(message)
        except (EOFError, OSError):
            self._part()
            stopped = self._stop.is_set() or self._closing
            return Stopped(number) if stopped else failed(number, WorkerLostError())
        except Exception as error:  # what cannot travel
            self._part()
            return failed(number, error)
        else:
            result: Finished | Stopped | Failed = message
            return result

    def _ready(self) -> tuple[Connection, Connection]:
        if (
            self._process is None
            or self._orders is None
            or self._answers is None
            or not self._process.is_alive()
        ):
            self._part()
            theirs_in, self._orders = self._context.Pipe(duplex=False)
            self._answers, theirs_out = self._context.Pipe(duplex=False)
            process = self._context.Process(
                target=work,
                args=(theirs_in, theirs_out, self._stop),
                name="lowcrown worker",
                daemon=True,
            )
            process.start()
            self._process = process  # not before: only what was started can be ended
            if self._closing:
                process.kill()
            theirs_in.close()
            theirs_out.close()
        return self._orders, self._answers

    def _part(self) -> None:
        for end in (self._orders, self._answers):
            if end is not None:
                end.close()
        if self._process is not None:
            self._process.kill()
            self._process.join(5.0)
        self._process = self._orders = self._answers = None


class Tasks(QObject):
    """Runs tasks and tells what becomes of them, on the window's thread."""

    started = Signal(object)
    reported = Signal(object, float, str)
    finished = Signal(object, object)
    failed = Signal(object, object)
    stopped = Signal(object)
    lent = Signal(object)
    """Something a task has done by the other worker: `give_back` tells what came of it."""
    _heard = Signal(str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._numbers = 0
        self._running: dict[str, tuple[int, Runnable]] = {}
        self._heard.connect(self._hear)
        self._lanes: dict[str, _LightLane | _HeavyLane] = {
            "heavy": _HeavyLane(self._hear_heavy, is_warm=True),
            "beside": _HeavyLane(self._hear_beside, is_warm=False),
            "light": _LightLane(self._hear_light),
            "quick": _LightLane(self._hear_quick),
        }

    def run(self, task: Runnable, lane: LaneName) -> None:
        """Run a task; its lane must be free."""
        if lane in self._running:
            raise RuntimeError(f"the {lane} lane is busy")
        self._numbers += 1
        self._running[lane] = (self._numbers, task)
        self._lanes[lane].start(self._numbers, task)
        self.started.emit(task)

    def running(self, lane: LaneName) -> Runnable | None:
        """Return what a lane is doing, or None."""
        found = self._running.get(lane)
        return None if found is None else found[1]

    @property
    def is_idle(self) -> bool:
        """Whether nothing runs."""
        return not self._running

    def stop(self, lane: LaneName) -> None:
        """Ask what a lane is doing to stop; end its process if it does not listen."""
        if lane in self._running:
            self._lanes[lane].stop()
            QTimer.singleShot(PATIENCE_MS[lane], self, _Ender(self, lane, self._running[lane][0]))

    def give_back(self, lent: Lent, value: bytes | None) -> None:
        """Tell what came of a thing lent: None for nothing."""
        lane = self._lanes["heavy"]
        if isinstance(lane, _HeavyLane) and self._running.get("heavy", (0,))[0] == lent.number:
            lane.give_back(Returned(lent.number, lent.call, value))

    def warm_beside(self) -> None:
        """Have the second worker ready before it is needed."""
        lane = self._lanes["beside"]
        if isinstance(lane, _HeavyLane):
            lane.warm()

    def end(self, lane: LaneName, number: int) -> None:
        """End a task that is still running although it was asked to stop."""
        if self._running.get(lane, (0,))[0] == number:
            self._lanes[lane].end()

    def close(self) -> None:
        """Stop everything and end the worker."""
        for lane in self._lanes.values():
            lane.close()
        self._running.clear()

    def _hear_heavy(self, message: Any) -> None:
        self._heard.emit("heavy", message)

    def _hear_beside(self, message: Any) -> None:
        self._heard.emit("beside", message)

    def _hear_light(self, message: Any) -> None:
        self._heard.emit("light", message)

    def _hear_quick(self, message: Any) -> None:
        self._heard.emit("quick", message)

    def _hear(self, lane: str, message: Any) -> None:
        number, task = self._running.get(lane, (0, None))
        if task is None or message.number != number:
            return
        if isinstance(message, Lent):
            self.lent.emit(message)
            return
        if isinstance(message, Reported):
            self.reported.emit(task, message.done, message.stage)
            return
        del self._running[lane]
        if isinstance(message, Finished):
            self.finished.emit(task, message.value)
        elif isinstance(message, Failed):
            self.failed.emit(task, message.error())
        else:
            self.stopped.emit(task)


class _Ender:
    """Ends one task of one lane, when its patience is over."""

    def __init__(self, tasks: Tasks, lane: LaneName, number: int) -> None:
        self._tasks, self._lane, self._number = tasks, lane, number

    def __call__(self) -> None:
        self._tasks.end(self._lane, self._number)

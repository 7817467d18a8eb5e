"""`TwoHands`: many things alike done by a worker and, one at a time, by another beside it. No Qt.

A worker may have no processes of its own. What it lends out goes to the window as bytes, from there
to the other worker, and comes back the same way; what comes to nothing there is done here.
"""

import pickle
import queue
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from geometry.progress import Report

LOOKED_EVERY_S = 0.1
"""How often it is looked whether what was lent still matters."""


@dataclass(frozen=True)
class Lent:
    """Thing number `call` of task `number`, to be done elsewhere: a pickled function and places."""

    number: int
    call: int
    what: bytes

    def run(self, report: Report) -> bytes:
        """Return what came of it, pickled."""
        function, arguments = pickle.loads(self.what)
        return pickle.dumps(function(*arguments))


@dataclass(frozen=True)
class Returned:
    """What came of a thing lent: pickled, or None where it came to nothing."""

    number: int
    call: int
    value: bytes | None


@dataclass(eq=False)
class _Thing:
    future: Future[Any]
    function: Callable[..., Any]
    arguments: tuple[Any, ...]

    def do(self) -> None:
        """Do it here."""
        try:
            value = self.function(*self.arguments)
        except BaseException as error:  # handed on to whoever waits for it
            self.future.set_exception(error)
        else:
            self.future.set_result(value)


class TwoHands(Executor):
    """One hand here, the other lent.

    Parameters
    ----------
    number : int
        Of the task that uses it.
    lend : function of Lent
    back : Connection
        Where what was lent comes back.
    """

    def __init__(self, number: int, lend: Callable[[Lent], None], back: Connection) -> None:
        self._number, self._lend, self._back = number, lend, back
        self._things: queue.Queue[_Thing | None] = queue.Queue()
        self._calls = 0
        self._closed = threading.Event()
        self._here = threading.Thread(target=self._do_here, daemon=True)
        self._there = threading.Thread(target=self._do_there, daemon=True)
        self._here.start()
        self._there.start()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Have a function of places called, by whichever hand is free first."""
        if kwargs:
            raise TypeError("by place only")
        thing = _Thing(Future(), fn, args)
        self._things.put(thing)
        return thing.future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take nothing more; what is being done here is left to end unheard."""
        self._closed.set()
        self._things.put(None)
        self._things.put(None)
        self._there.join()  # or it would read what comes for the next task

    def _next(self) -> _Thing | None:
        """Return the next thing nobody called off."""
        while (thing := self._things.get()) is not None and not self._closed.is_set():
            if thing.future.set_running_or_notify_cancel():
                return thing
        return None

    def _do_here(self) -> None:
        while (thing := self._next()) is not None:
            thing.do()

    def _do_there(self) -> None:
        while (thing := self._next()) is not None:
            value = self._lent_out(thing)
            if value is not None:
                thing.future.set_result(pickle.loads(value))
            elif not self._closed.is_set():
                thing.do()

    def _lent_out(self, thing: _Thing) -> bytes | None:
        """Lend a thing and wait for it; None where it came to nothing or does not matter."""
        self._calls += 1
        try:
            self._lend(
                Lent(self._number, self._calls, pickle.dumps((thing.function, thing.arguments)))
            )
            while not self._closed.is_set():
                if self._back.poll(LOOKED_EVERY_S):
                    found = self._back.recv()
                    mine = (self._number, self._calls)
                    if isinstance(found, Returned) and (found.number, found.call) == mine:
                        return found.value
        except (EOFError, OSError):  # the window is gone, and this process soon
            self._closed.set()
        return None

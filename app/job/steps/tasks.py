"""Making results: the tasks of a job, ready to run anywhere, and what comes of them put in.

Nothing here starts threads or processes: a `Task` carries a module-level function and its inputs.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from app.job.choices import JobState, Made
from app.job.steps.standing import parts_of
from app.job.steps.table import STEPS, are_same, is_current, latest, step
from geometry.progress import Report, silent


@dataclass(frozen=True, eq=False)
class Task:
    """One part of a step, ready to run: `function(*inputs, report=report)`, all of it picklable."""

    step: str
    part: str
    function: Callable[..., Any]
    inputs: tuple[Any, ...]

    def run(self, report: Report = silent) -> Any:
        """Return the result."""
        return self.function(*self.inputs, report=report)


def task_for(state: JobState, name: str, part: str = "") -> Task | None:
    """Return the task that makes a part, or None while what it hangs on is not made."""
    inputs = step(name).inputs(state, part)
    return None if inputs is None else Task(name, part, step(name).function, inputs)


def next_tasks(state: JobState, until: str = "Paper") -> tuple[Task, ...]:
    """Return the tasks that can run now on the way to a step: neither made nor failed yet."""
    tasks = []
    for row in STEPS:
        for part in parts_of(state, row.name):
            tried = (row.name, part) in state.results and is_current(state, row.name, part)
            task = None if tried else task_for(state, row.name, part)
            if task is not None:
                tasks.append(task)
        if row.name == until:
            break
    return tuple(tasks)


def with_result(state: JobState, task: Task, value: Any) -> JobState:
    """Return the job with a task's result, or the same job when its inputs have changed since."""
    return _with(state, task, Made(task.inputs, value))


def with_failure(state: JobState, task: Task, error: Exception) -> JobState:
    """Return the job with the error a task ended in, unless its inputs have changed since.

    What the step made before stays to be looked at.
    """
    earlier = latest(state, task.step, task.part)
    return _with(state, task, Made(task.inputs, None, error, earlier))


def _with(state: JobState, task: Task, entry: Made) -> JobState:
    inputs = step(task.step).inputs(state, task.part)
    if inputs is None or not are_same(inputs, task.inputs):
        return state
    results = dict(state.results)
    results[task.step, task.part] = entry
    return replace(state, results=MappingProxyType(results))


def carried_through(
    state: JobState, until: str, watch: Callable[[Task], Report] = lambda task: silent
) -> JobState:
    """Return the job with every step up to one made, here and now; the first error is raised.

    Parameters
    ----------
    state : JobState
    until : str
        Name of the last step wanted.
    watch : function of task
        Called before each task; returns the report to run it with.
    """
    while tasks := next_tasks(state, until):
        task = tasks[0]
        state = with_result(state, task, task.run(watch(task)))
    return state
